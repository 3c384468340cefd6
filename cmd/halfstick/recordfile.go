package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"syscall"

	"halfstick/input"
)

// recordTo records src into a new file. A recording grows as it is made and
// survives a kill; only when not one row came is the file taken away again.
func recordTo(ctx context.Context, o outFile, src input.Source, h input.Header, opts input.RecordOptions) (input.Sampling, error) {
	file, err := o.create()
	if err != nil {
		return input.Sampling{}, err
	}
	stats, err := recordInto(ctx, file, src, h, opts)
	made, lookErr := file.Stat()
	err = errors.Join(err, lookErr, file.Close())
	// A device file or a pipe is not of our making.
	if err != nil && stats.Rows == 0 && lookErr == nil && made.Mode().IsRegular() {
		err = errors.Join(err, os.Remove(o.path))
	}
	return stats, err
}

// create makes the file of a recording.
func (o outFile) create() (*os.File, error) {
	flags := os.O_WRONLY | os.O_CREATE | os.O_EXCL
	if o.force {
		flags = os.O_WRONLY | os.O_CREATE | os.O_TRUNC
	}
	file, err := os.OpenFile(o.path, flags, 0o644)
	switch {
	case errors.Is(err, fs.ErrExist):
		return nil, o.free()
	case err != nil:
		return nil, fmt.Errorf("cannot make the recording: %w; choose a folder that you may write to", err)
	}
	return file, nil
}

func recordInto(ctx context.Context, file *os.File, src input.Source, h input.Header, opts input.RecordOptions) (input.Sampling, error) {
	w, err := input.NewWriter(file, h)
	if err != nil {
		return input.Sampling{}, err
	}
	stats, err := recordRows(ctx, file, src, w, opts)
	if err != nil {
		// What is left in the writer is worth a last try; that this fails
		// too is no news.
		_ = w.Close()
		return stats, err
	}
	if err := w.Comment(stats.Comment()); err != nil {
		return stats, err
	}
	return stats, w.Close()
}

// recordRows keeps the file's writing off the sampling thread. A clock that
// jumps outruns any disk, and is held up by none.
func recordRows(ctx context.Context, file *os.File, src input.Source, w *input.Writer, opts input.RecordOptions) (input.Sampling, error) {
	if opts.Clock != nil {
		return input.Record(ctx, src, w, opts)
	}
	rows := input.NewBackground(w, opts.RateHz, func() error { return syncFile(file) })
	stats, err := input.Record(ctx, src, rows, opts)
	if closing := rows.Close(); err == nil {
		err = closing
	}
	stats.LostRows = rows.Lost()
	return stats, err
}

// syncFile asks the disk to make sure of the file; pipes and the like cannot,
// which is no fault.
func syncFile(file *os.File) error {
	err := file.Sync()
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, errors.ErrUnsupported) {
		return nil
	}
	return err
}
