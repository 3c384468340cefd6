package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"halfstick/input/sdl"
)

// demoOnce is the demo's files, made once for all tests by the program itself.
var demoOnce = sync.OnceValues(func() (string, error) {
	folder, err := os.MkdirTemp("", "halfstick-demo")
	if err != nil {
		return "", err
	}
	var out, errs bytes.Buffer
	if status := run([]string{"demo", "--out", filepath.Join(folder, "demo")}, &out, &errs); status != exitDone {
		return folder, errors.New(errs.String())
	}
	return folder, os.WriteFile(filepath.Join(folder, "summary.txt"), out.Bytes(), 0o644)
})

// demoFolder is the folder of the demo's files; tests must not change them.
func demoFolder(t *testing.T) string {
	t.Helper()
	if _, err := sdl.List(); errors.Is(err, sdl.ErrWithoutSDL) {
		t.Skip("the demo records through SDL, which this build is without")
	}
	folder, err := demoOnce()
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Join(folder, "demo")
}
