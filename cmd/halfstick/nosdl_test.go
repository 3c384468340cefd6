//go:build !cgo

package main

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"
)

// Without SDL the commands that need it say so, and leave no file.
func TestCommandsThatNeedSDLSaySo(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, line := range []string{
		"devices", "devices --simulated", "record -o rig.csv", "record --simulated -o rig.csv", "demo --out demo",
	} {
		var out, errs bytes.Buffer
		if status := run(strings.Fields(line), &out, &errs); status != exitFailed || !strings.Contains(errs.String(), "built without SDL") {
			t.Errorf("halfstick %s: status %d, %s", line, status, errs.String())
		}
	}
	if left, _ := filepath.Glob("*.csv"); len(left) > 0 {
		t.Errorf("%v was left", left)
	}
}
