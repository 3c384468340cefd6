package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"halfstick/input"
)

// recordTo records src into a new file. A recording grows as it is made and
// survives a kill; only when not one row came is the file taken away again.
func recordTo(ctx context.Context, o outFile, src input.Source, h input.Header, opts input.RecordOptions) (input.RecordStats, error) {
	flags := os.O_WRONLY | os.O_CREATE | os.O_EXCL
	if o.force {
		flags = os.O_WRONLY | os.O_CREATE | os.O_TRUNC
	}
	file, err := os.OpenFile(o.path, flags, 0o644)
	switch {
	case errors.Is(err, fs.ErrExist):
		return input.RecordStats{}, o.free()
	case err != nil:
		return input.RecordStats{}, fmt.Errorf("cannot make the recording: %w; choose a folder that you may write to", err)
	}
	stats, err := recordInto(ctx, file, src, h, opts)
	err = errors.Join(err, file.Close())
	if err != nil && stats.Rows == 0 {
		err = errors.Join(err, os.Remove(o.path))
	}
	return stats, err
}

func recordInto(ctx context.Context, file *os.File, src input.Source, h input.Header, opts input.RecordOptions) (input.RecordStats, error) {
	w, err := input.NewWriter(file, h)
	if err != nil {
		return input.RecordStats{}, err
	}
	stats, err := input.Record(ctx, src, w, opts)
	return stats, errors.Join(err, w.Close())
}
