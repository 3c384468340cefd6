package main

import (
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"halfstick": main})
}

// TestScripts runs the program as its user would: see testdata/script. Each
// script begins with the demo's files, made once, in the folder demo.
func TestScripts(t *testing.T) {
	demo := demoFolder(t)
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		Setup: func(env *testscript.Env) error {
			return os.CopyFS(env.WorkDir+"/demo", os.DirFS(demo))
		},
	})
}
