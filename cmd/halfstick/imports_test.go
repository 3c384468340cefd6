package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// mayImport names, for each part of the project, the parts that its
// non-test code may import besides its own folders.
var mayImport = map[string][]string{
	"curves": {"curves"},
	"input":  {"input"},
	"fit":    {"fit", "input", "curves"},
	"cmd":    {"cmd", "fit", "input", "curves"},
}

// Data flows one way, and the imports show it.
func TestImportsGoOneWay(t *testing.T) {
	for part, allowed := range mayImport {
		seen := 0
		err := filepath.WalkDir(filepath.Join("..", "..", part), func(path string, entry fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			if entry.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return nil
			}
			seen++
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
			if err != nil {
				return err
			}
			for _, spec := range file.Imports {
				target, err := strconv.Unquote(spec.Path.Value)
				if err != nil {
					return err
				}
				if wrong := breaksRule(target, allowed); wrong != "" {
					t.Errorf("%s imports %s: %s may import only %v", path, target, part, allowed)
				}
				if target == "C" && !strings.Contains(filepath.ToSlash(path), "/input/sdl/") {
					t.Errorf("%s uses cgo: only input/sdl may", path)
				}
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		if seen == 0 {
			t.Errorf("no Go files found under %s", part)
		}
	}
}

// breaksRule returns the part of ours that target lies in where that part is
// not allowed, else "".
func breaksRule(target string, allowed []string) string {
	ours, isOurs := strings.CutPrefix(target, "halfstick/")
	if !isOurs {
		return ""
	}
	part, _, _ := strings.Cut(ours, "/")
	for _, a := range allowed {
		if part == a {
			return ""
		}
	}
	return part
}
