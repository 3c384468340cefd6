package bench

import (
	"io"
	"os"

	"github.com/natefinch/atomic"
)

// writeWhole writes a file that appears whole or not at all.
func writeWhole(path string, data io.Reader) error {
	_, missing := os.Lstat(path)
	if err := atomic.WriteFile(path, data); err != nil {
		return err
	}
	if missing != nil {
		return os.Chmod(path, 0o644) // the temporary file was its owner's alone
	}
	return nil
}
