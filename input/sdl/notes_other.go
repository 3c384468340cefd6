//go:build !windows

package sdl

// systemNotes has nothing to say of all controllers on this system.
func systemNotes(bool) []string { return nil }
