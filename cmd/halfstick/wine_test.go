//go:build wine

package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// TestWindows runs the Windows program, named by HALFSTICK_EXE, under Wine: the
// whole job on the simulated rig, and its files read again by this build.
func TestWindows(t *testing.T) {
	exe := os.Getenv("HALFSTICK_EXE")
	if exe == "" {
		t.Fatal("HALFSTICK_EXE must name halfstick.exe; run make windows-test")
	}
	wine, server := find("wine", "wine64", "/usr/lib/wine/wine64"), find("wineserver", "/usr/lib/wine/wineserver64")
	if wine == "" || server == "" {
		t.Skip("there is no Wine here; on Debian or Ubuntu install wine64")
	}
	folder := t.TempDir()
	prefix := filepath.Join(folder, "prefix")
	environment := append(os.Environ(), "WINEPREFIX="+prefix, "WINEDEBUG=-all", "DISPLAY=")
	t.Cleanup(func() { // its server still writes into the prefix
		for _, how := range []string{"--kill", "--wait"} {
			stop := exec.Command(server, how)
			stop.Env = environment
			_ = stop.Run()
		}
	})
	boot := exec.Command(wine, "wineboot")
	boot.Env = environment
	if out, err := boot.CombinedOutput(); err != nil {
		t.Fatalf("wineboot: %v\n%s", err, out)
	}
	randomSource(t, filepath.Join(prefix, "drive_c", "windows", "system32"))

	windows := func(args ...string) string {
		t.Helper()
		var out, errs bytes.Buffer
		cmd := exec.Command(wine, append([]string{exe}, args...)...)
		cmd.Dir, cmd.Stdout, cmd.Stderr = folder, &out, &errs
		cmd.Env = environment
		if err := cmd.Run(); err != nil {
			t.Fatalf("halfstick.exe %s: %v\n%s", strings.Join(args, " "), err, errs.String())
		}
		return strings.ReplaceAll(out.String(), "\r\n", "\n")
	}
	here := func(args ...string) string {
		t.Helper()
		var out, errs bytes.Buffer
		if status := run(args, &out, &errs); status != exitDone {
			t.Fatalf("halfstick %s ended with status %d\n%s", strings.Join(args, " "), status, errs.String())
		}
		return out.String()
	}

	if got := windows("version"); !strings.HasSuffix(got, "windows/amd64)\n") {
		t.Errorf("version says %q", got)
	}
	if got := windows("demo", "--out", "demo"); !strings.Contains(got, "found") {
		t.Errorf("the demo's summary sets nothing found beside the truth:\n%s", got)
	}
	rig, profile := filepath.Join(folder, "demo", demoRecording), filepath.Join(folder, "demo", demoProfile)
	head := make([]byte, 200)
	if file, err := os.Open(rig); err != nil {
		t.Fatal(err)
	} else if _, err = io.ReadFull(file, head); err != nil {
		t.Fatal(err)
	}
	if !regexp.MustCompile(`"source":"sdl 2\.\d+\.\d+ windows`).Match(head) {
		t.Errorf("the demo was not recorded through the SDL that is linked in: %s", head)
	}
	for _, args := range [][]string{
		{"measure", rig, "--json"},
		{"export", profile},
	} {
		relative := append([]string{}, args...)
		for i, a := range relative {
			relative[i] = strings.TrimPrefix(a, folder+"/")
		}
		if got, want := windows(relative...), strings.ReplaceAll(here(args...), folder+"/", ""); got != want {
			t.Errorf("halfstick.exe %s differs from this build:\n%.500s\n%.500s", strings.Join(relative, " "), got, want)
		}
	}
}

// randomSource puts bcryptprimitives.dll, where Go has its random numbers from,
// into the folder: every Windows since version 7 has it, Wine 8 has not.
func randomSource(t *testing.T, system32 string) {
	t.Helper()
	dll := filepath.Join(system32, "bcryptprimitives.dll")
	if _, err := os.Stat(dll); err == nil {
		return
	}
	cc := exec.Command("x86_64-w64-mingw32-gcc", "-shared", "-x", "c", "-o", dll, "-", "-ladvapi32")
	cc.Stdin = strings.NewReader(`
#include <windows.h>
#include <ntsecapi.h>
__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE data, SIZE_T size) {
	return RtlGenRandom(data, (ULONG)size);
}
`)
	if out, err := cc.CombinedOutput(); err != nil {
		t.Fatalf("cannot build %s: %v\n%s", dll, err, out)
	}
}

// find is the first of the programs that is there, or "".
func find(names ...string) string {
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}
