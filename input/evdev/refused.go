package evdev

import "fmt"

// Allow is the command that lets a user read all input devices, from the next
// login on. Debian and its like give the files to that group; common practice,
// no source.
const Allow = "sudo usermod -aG input $USER"

// Refusal is a joystick that the user may not read.
type Refusal struct {
	Name string // as the device gives it
	Path string // of its event file
}

// String says what is refused and what allows it.
func (r Refusal) String() string {
	return fmt.Sprintf("%s is plugged in, but you may not read %s; allow it with: %s (then log out and in again)", r.Name, r.Path, Allow)
}
