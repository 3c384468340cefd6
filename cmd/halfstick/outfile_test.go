package main

import (
	"fmt"
	"io"
	"os"
	"testing"
)

// A pipe takes the result, and no file is put in its place, with --force or without.
func TestResultsPassThroughAPipe(t *testing.T) {
	for _, force := range []bool{false, true} {
		r, w, err := os.Pipe()
		if err != nil {
			t.Fatal(err)
		}
		path := fmt.Sprintf("/proc/self/fd/%d", w.Fd())
		if _, err := os.Stat(path); err != nil {
			t.Skip("this system does not name its open files")
		}
		err = outFile{path: path, force: force}.write(func(w io.Writer) error {
			_, err := io.WriteString(w, "a result")
			return err
		})
		if err != nil {
			t.Fatalf("force %v: %v", force, err)
		}
		w.Close()
		if got, err := io.ReadAll(r); string(got) != "a result" || err != nil {
			t.Errorf("force %v: %q, %v", force, got, err)
		}
	}
}
