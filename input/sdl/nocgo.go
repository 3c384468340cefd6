//go:build !cgo

package sdl

import "halfstick/input"

// List returns ErrWithoutSDL in this build.
func List() ([]Found, error) { return nil, ErrWithoutSDL }

// Open returns ErrWithoutSDL in this build.
func Open(Options) (input.Source, error) { return nil, ErrWithoutSDL }

// NewSimulated returns ErrWithoutSDL in this build.
func NewSimulated(Feeder, input.Clock) (input.Source, error) { return nil, ErrWithoutSDL }
