package devicetest

import (
	"bytes"
	"debug/elf"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// moduleName is a module's name as the kernel knows it: file names may have
// dashes where the kernel has underscores.
func moduleName(file string) string {
	return strings.ReplaceAll(file, "-", "_")
}

// loadOrder returns the wanted modules and all that they depend on, each after
// its dependencies.
func loadOrder(modules map[string][]byte, wanted []string) ([]string, error) {
	var order []string
	var add func(name string, path []string) error
	add = func(name string, path []string) error {
		if slices.Contains(order, name) {
			return nil
		}
		if slices.Contains(path, name) {
			return fmt.Errorf("module %s depends on itself", name)
		}
		content, ok := modules[name]
		if !ok {
			return fmt.Errorf("the kernel package has no module %s", name)
		}
		needs, err := moduleDepends(content)
		if err != nil {
			return fmt.Errorf("module %s: %w", name, err)
		}
		for _, need := range needs {
			if err := add(need, append(path, name)); err != nil {
				return err
			}
		}
		order = append(order, name)
		return nil
	}
	for _, name := range wanted {
		if err := add(moduleName(name), nil); err != nil {
			return nil, err
		}
	}
	return order, nil
}

// moduleDepends reads the modules that a module needs from its own
// description, a section of "key=value" strings with a zero after each.
func moduleDepends(content []byte) ([]string, error) {
	file, err := elf.NewFile(bytes.NewReader(content))
	if err != nil {
		return nil, err
	}
	section := file.Section(".modinfo")
	if section == nil {
		return nil, errors.New("no .modinfo section")
	}
	info, err := section.Data()
	if err != nil {
		return nil, err
	}
	for line := range strings.SplitSeq(string(info), "\x00") {
		list, ok := strings.CutPrefix(line, "depends=")
		if !ok || list == "" {
			continue
		}
		var needs []string
		for name := range strings.SplitSeq(list, ",") {
			needs = append(needs, moduleName(name))
		}
		return needs, nil
	}
	return nil, nil
}
