package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
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

// A link to a file elsewhere stays a link: what it leads to is written anew.
func TestResultsGoWhereALinkLeads(t *testing.T) {
	folder := t.TempDir()
	kept, link := filepath.Join(folder, "kept.json"), filepath.Join(folder, "profile.json")
	if err := os.WriteFile(kept, []byte("of last week"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("kept.json", link); err != nil {
		t.Skip("no links can be made here: ", err)
	}
	render := func(w io.Writer) error {
		_, err := io.WriteString(w, "a result")
		return err
	}
	if err := (outFile{path: link}).write(render); err == nil {
		t.Error("written over what the link leads to without --force")
	}
	if err := (outFile{path: link, force: true}).write(render); err != nil {
		t.Fatal(err)
	}
	if got, err := os.ReadFile(kept); string(got) != "a result" || err != nil {
		t.Errorf("the link leads to %q, %v", got, err)
	}
	if is, err := os.Lstat(link); err != nil || is.Mode().Type() != os.ModeSymlink {
		t.Errorf("the link is %v, %v", is.Mode(), err)
	}
}
