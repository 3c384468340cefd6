package devicetest

import (
	"fmt"
	"io"
	"io/fs"
)

// cpioWriter writes the "newc" cpio format in which the Linux kernel takes its
// first file system (Documentation/driver-api/early-userspace/buffer-format).
type cpioWriter struct {
	w     io.Writer
	inode int
	err   error
}

// The file types of stat(2), octal as in the mode field of an entry.
const (
	cpioDir     = 0o040000
	cpioFile    = 0o100000
	cpioSymlink = 0o120000
)

func (c *cpioWriter) dir(name string) {
	c.entry(name, cpioDir|0o755, nil)
}

func (c *cpioWriter) file(name string, perm fs.FileMode, content []byte) {
	c.entry(name, cpioFile|int(perm.Perm()), content)
}

func (c *cpioWriter) symlink(name, target string) {
	c.entry(name, cpioSymlink|0o777, []byte(target))
}

// entry writes header, name and content, each padded to four bytes.
func (c *cpioWriter) entry(name string, mode int, content []byte) {
	if c.err != nil {
		return
	}
	c.inode++
	head := fmt.Sprintf("070701%08X%08X%08X%08X%08X%08X%08X%08X%08X%08X%08X%08X%08X%s\x00",
		c.inode, mode, 0, 0, 1, 0, len(content), 0, 0, 0, 0, len(name)+1, 0, name)
	for _, part := range [][]byte{[]byte(head), content} {
		if _, c.err = c.w.Write(part); c.err != nil {
			return
		}
		if _, c.err = c.w.Write(make([]byte, (4-len(part)%4)%4)); c.err != nil {
			return
		}
	}
}

// close writes the entry that ends the archive and returns the first error.
func (c *cpioWriter) close() error {
	c.entry("TRAILER!!!", 0, nil)
	return c.err
}
