package main

import (
	"os/exec"
	"runtime"
)

// openBrowser opens an address in the person's browser, and does not wait for
// it.
func openBrowser(url string) error {
	name, args := "xdg-open", []string{url}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", url}
	}
	cmd := exec.Command(name, args...)
	if err := cmd.Start(); err != nil {
		return err
	}
	go func() { _ = cmd.Wait() }() // it must not be left as a zombie; how it ends is the browser's matter
	return nil
}
