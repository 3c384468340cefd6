package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"halfstick": main})
}

// TestScripts runs the program as its user would: see testdata/script. Each
// script finds the demo's files in the folder demo, made once by the program.
func TestScripts(t *testing.T) {
	demo := demoFolder(t)
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status": status,
		},
		Condition: func(name string) (bool, error) {
			if name == "root" {
				return os.Geteuid() == 0, nil
			}
			return false, fmt.Errorf("there is no condition %q", name)
		},
		Setup: func(env *testscript.Env) error {
			return os.Symlink(demo, env.WorkDir+"/demo")
		},
	})
}

// status runs a program and demands its exit status: status 2 halfstick nonsense.
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N program [argument…]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("%v ended with status %d, not %d", args[1:], got, want)
	}
}
