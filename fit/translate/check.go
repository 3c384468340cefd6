package translate

import (
	"cmp"
	"slices"
)

// endTolerance is how far the command at the ends of the throw may be from 0
// and full, as a share: no shape can do anything about it.
const endTolerance = 0.01

// check reports the first thing that makes the readings useless or contradicts
// another of them; last is the file's last line.
func (r *Readings) check(last int) error {
	if len(r.Rows) == 0 {
		return r.fail(last, "there are no readings below the column names; note one at least, better six at two settings or more")
	}
	for _, a := range r.Rows {
		if err := r.checkEnds(a); err != nil {
			return err
		}
	}
	rising := slices.Clone(r.Rows)
	slices.SortStableFunc(rising, func(a, b Reading) int {
		return cmp.Or(cmp.Compare(a.Setting, b.Setting), cmp.Compare(a.Position, b.Position))
	})
	for i := 1; i < len(rising); i++ {
		if a, b := rising[i-1], rising[i]; a.Setting == b.Setting {
			if err := r.checkPair(a, b); err != nil {
				return err
			}
		}
	}
	if len(r.inside()) == 0 {
		return r.fail(r.Rows[0].Line, "every reading is at an end of the throw, where all shapes are alike; note the command at half throw")
	}
	return nil
}

func (r *Readings) checkEnds(a Reading) error {
	switch {
	case a.Position == 0 && a.Command > endTolerance:
		return r.fail(a.Line, "the command at position 0 is %g %%, expected 0; note readings from the centre of one side outward", 100*a.Command)
	case a.Position == 1 && a.Command < 1-endTolerance:
		return r.fail(a.Line, "the command at full throw is %g %%, expected 100; turn the program's limit of the command off and read again", 100*a.Command)
	}
	return nil
}

// checkPair looks at two neighbours, by position, of one setting.
func (r *Readings) checkPair(a, b Reading) error {
	switch {
	case a.Position == b.Position && a.Command == b.Command:
		return r.fail(b.Line, "this reading is the same as that of line %d; take one out, or read at another position", a.Line)
	case a.Position == b.Position:
		return r.fail(b.Line, "setting %g at position %g %% gave %g %%, but %g %% in line %d; read there again and keep one",
			a.Setting, 100*a.Position, 100*b.Command, 100*a.Command, a.Line)
	case b.Command < a.Command:
		return r.fail(b.Line, "at setting %g the command falls from %g %% at position %g %% (line %d) to %g %% at %g %%, which no shape does; read both again",
			a.Setting, 100*a.Command, 100*a.Position, a.Line, 100*b.Command, 100*b.Position)
	}
	return nil
}

// inside returns the readings between the ends of the throw; only they tell
// shapes apart.
func (r *Readings) inside() []Reading {
	var in []Reading
	for _, a := range r.Rows {
		if a.Position > 0 && a.Position < 1 {
			in = append(in, a)
		}
	}
	return in
}
