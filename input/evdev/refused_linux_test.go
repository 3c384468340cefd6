package evdev

import (
	"os"
	"path/filepath"
	"reflect"
	"syscall"
	"testing"
)

// Who may read which event file is taken from the file's mode, as another user
// than root.
func TestRefusedJoysticks(t *testing.T) {
	dir, err := os.MkdirTemp("", "halfstick-refused-")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(dir)
	write := func(perm os.FileMode, content string, parts ...string) {
		path := filepath.Join(append([]string{dir}, parts...)...)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(content), perm); err != nil {
			t.Fatal(err)
		}
	}
	for _, d := range []struct {
		event, number, name, notes string
		perm                       os.FileMode
	}{
		{"event3", "13:67", "Example Keys", "E:ID_INPUT=1\nE:ID_INPUT_KEYBOARD=1\n", 0o600},
		{"event4", "13:68", "Example Stick", "E:ID_INPUT_JOYSTICK=1\n", 0o644},
		{"event5", "13:69", "Example Pedals", "E:ID_INPUT=1\nE:ID_INPUT_JOYSTICK=1\nG:uaccess\n", 0o600},
		{"event6", "13:70", "Example Lever", "E:ID_INPUT_JOYSTICK=10\n", 0o600},
	} {
		write(0o644, d.number+"\n", "class", d.event, "dev")
		write(0o644, d.name+"\n", "class", d.event, "device", "name")
		write(0o644, d.notes, "notes", "c"+d.number)
		write(d.perm, "", "files", d.event)
	}
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if os.Getuid() == 0 {
		// The files' owner; access(2) goes by the real user.
		defer asUser(t, 65534)()
	} else if err := os.Chmod(filepath.Join(dir, "files", "event5"), 0); err != nil {
		t.Fatal(err)
	}
	got := refused(filepath.Join(dir, "class"), filepath.Join(dir, "notes"), filepath.Join(dir, "files"))
	want := []Refusal{{Name: "Example Pedals", Path: filepath.Join(dir, "files", "event5")}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("refused are %+v, want %+v", got, want)
	}
}

// asUser makes the whole process another real user until the function that it
// returns is called.
func asUser(t *testing.T, uid int) (back func()) {
	if err := syscall.Setresuid(uid, -1, -1); err != nil {
		t.Fatal(err)
	}
	return func() {
		if err := syscall.Setresuid(0, -1, -1); err != nil {
			t.Error(err)
		}
	}
}
