package devicetest

import (
	"bytes"
	"context"
	"debug/elf"
	"encoding/binary"
	"fmt"
	"strconv"
	"strings"
	"testing"
)

// cpioEntry and unpack read the newc format with a program of their own.
type cpioEntry struct {
	mode    int64
	content string
}

func unpack(t *testing.T, archive []byte) map[string]cpioEntry {
	t.Helper()
	entries := map[string]cpioEntry{}
	for at := 0; ; {
		if at%4 != 0 || string(archive[at:at+6]) != "070701" {
			t.Fatalf("no entry at %d", at)
		}
		field := func(i int) int64 {
			v, err := strconv.ParseInt(string(archive[at+6+8*i:at+14+8*i]), 16, 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		mode, size, nameSize := field(1), int(field(6)), int(field(11))
		name := string(archive[at+110 : at+110+nameSize-1])
		at = (at + 110 + nameSize + 3) &^ 3
		if name == "TRAILER!!!" {
			return entries
		}
		entries[name] = cpioEntry{mode, string(archive[at : at+size])}
		at = (at + size + 3) &^ 3
	}
}

// moduleFile is the smallest ELF file that names the modules it depends on.
func moduleFile(depends string) []byte {
	info := "license=GPL\x00depends=" + depends + "\x00name=x\x00"
	names := "\x00.modinfo\x00.shstrtab\x00"
	header := elf.Header64{
		Type: uint16(elf.ET_REL), Machine: uint16(elf.EM_X86_64), Version: 1,
		Ehsize: 64, Shentsize: 64, Shnum: 3, Shstrndx: 2,
		Shoff: uint64(64 + len(info) + len(names)),
	}
	copy(header.Ident[:], "\x7fELF\x02\x01\x01")
	var b bytes.Buffer
	for _, part := range []any{
		header, []byte(info), []byte(names), elf.Section64{},
		elf.Section64{Name: 1, Type: uint32(elf.SHT_PROGBITS), Off: 64, Size: uint64(len(info))},
		elf.Section64{Name: 10, Type: uint32(elf.SHT_STRTAB), Off: uint64(64 + len(info)), Size: uint64(len(names))},
	} {
		if err := binary.Write(&b, binary.LittleEndian, part); err != nil {
			panic(err)
		}
	}
	return b.Bytes()
}

func TestModulesComeAfterWhatTheyNeed(t *testing.T) {
	modules := map[string][]byte{
		"hid_generic": moduleFile("hid"), "hid": moduleFile(""),
		"p9": moduleFile("netfs,fs-cache"), "netfs": moduleFile("fs-cache"), "fs_cache": moduleFile(""),
		"ring": moduleFile("ring"), "lone": moduleFile("gone"),
	}
	order, err := loadOrder(modules, []string{"p9", "hid-generic", "hid"})
	if got, want := fmt.Sprint(order, err), "[fs_cache netfs p9 hid hid_generic] <nil>"; got != want {
		t.Errorf("the order is %s, want %s", got, want)
	}
	for name, says := range map[string]string{"ring": "depends on itself", "lone": "no module gone", "none": "no module none"} {
		if _, err := loadOrder(modules, []string{name}); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("module %s gives %v, want an error that says %q", name, err, says)
		}
	}
}

func TestFirstFiles(t *testing.T) {
	kernel := &Kernel{Modules: map[string][]byte{}}
	for _, name := range modules {
		kernel.Modules[moduleName(name)] = moduleFile("")
	}
	kernel.Modules["9p"] = moduleFile("netfs")
	kernel.Modules["netfs"] = moduleFile("")
	archive, err := firstFiles(kernel, []byte("the guest"))
	if err != nil {
		t.Fatal(err)
	}
	entries := unpack(t, archive)
	for name, want := range map[string]cpioEntry{
		"guest":               {0o100755, "the guest"},
		"proc":                {0o040755, ""},
		"lib64":               {0o120777, "usr/lib64"},
		"modules/03-netfs.ko": {0o100644, string(moduleFile(""))},
		"modules/04-9p.ko":    {0o100644, string(moduleFile("netfs"))},
	} {
		if got := entries[name]; got != want {
			t.Errorf("%s is %o %q, want %o %q", name, got.mode, got.content, want.mode, want.content)
		}
	}
}

func TestKernelImagesThatAreNone(t *testing.T) {
	image := make([]byte, 2048)
	copy(image[0x202:], "HdrS")
	for name, c := range map[string]struct {
		image []byte
		says  string
	}{
		"empty":      {nil, "not a bootable"},
		"no payload": {image, "beyond its end"},
		"not xz": {func() []byte {
			other := bytes.Clone(image)
			binary.LittleEndian.PutUint32(other[0x24c:], 100)
			return other
		}(), "not compressed with xz"},
		"too long": {func() []byte {
			other := bytes.Clone(image)
			binary.LittleEndian.PutUint32(other[0x24c:], 5000)
			return other
		}(), "beyond its end"},
	} {
		if _, err := uncompressed(context.Background(), c.image); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s gives %v, want an error that says %q", name, err, c.says)
		}
	}
}
