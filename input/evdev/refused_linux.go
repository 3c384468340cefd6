package evdev

import (
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/sys/unix"
)

// Refused lists the joysticks that the system has and this user may not read.
// What the device manager (udev) has not taken for a joystick is not among
// them. It needs no permission itself.
func Refused() []Refusal {
	return refused("/sys/class/input", "/run/udev/data", "/dev/input")
}

// refused looks through the kernel's list of input devices, the notes that the
// device manager makes of each (E:ID_INPUT_JOYSTICK=1 in the file of the
// device's number), and the event files.
func refused(class, notes, files string) []Refusal {
	var found []Refusal
	events, _ := filepath.Glob(filepath.Join(class, "event*")) // the pattern is good
	for _, event := range events {
		number := firstLine(filepath.Join(event, "dev"))
		noted, err := os.ReadFile(filepath.Join(notes, "c"+number))
		if err != nil || !strings.Contains("\n"+string(noted), "\nE:ID_INPUT_JOYSTICK=1\n") {
			continue
		}
		path := filepath.Join(files, filepath.Base(event))
		if unix.Access(path, unix.R_OK) != unix.EACCES {
			continue
		}
		found = append(found, Refusal{
			Name: firstLine(filepath.Join(event, "device", "name")),
			Path: path,
		})
	}
	return found
}

// firstLine is the first line of a small file, "" if it cannot be read.
func firstLine(path string) string {
	content, _ := os.ReadFile(path)
	line, _, _ := strings.Cut(string(content), "\n")
	return line
}
