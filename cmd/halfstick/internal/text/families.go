package text

import "halfstick/fit/propose"

// Family is a row of the table of the shapes that were weighed for an axis, as
// it is to be read. Cells without a value are "–".
type Family struct {
	Name, Parameter            string // as --shape names it; the exponent, share or number of points
	Side                       string // low or high, where the sides are apart
	Gain, Share                string
	AtRest, AtNormal, NearStop string // command jitter
	Centre, Largest            string // slopes
	Chosen                     bool
}

const noValue = "–"

// Families lists what the straight line without deadband does, then what each
// family's shape does with the proposed deadband. With the sides apart the
// shape of each side follows, beside what both of them do together.
func Families(a *propose.AxisProposal) []Family {
	before := Family{
		Name: "as it is", Gain: noValue, Share: Percent(a.ResolutionBefore), Centre: "1.00", Largest: "1.00",
	}
	before.jitter(a.Jitter, func(j propose.JitterAt) float64 { return j.Before })
	rows := []Family{before}
	for _, f := range a.Fits {
		row := family(f)
		row.Share = noValue
		if f.CommandJitter != nil {
			row.Share = Percent(f.ResolutionShare)
		}
		row.jitter(f.CommandJitter, after)
		row.Chosen = f.Family == a.Chosen && len(a.Sides) == 0
		rows = append(rows, row)
	}
	for _, side := range a.Sides {
		for _, f := range side.Fits {
			if f.Family == a.Chosen {
				row := family(f)
				row.Side, row.Chosen, row.Share = side.Side, true, Percent(a.ResolutionAfter)
				row.jitter(a.Jitter, after)
				rows = append(rows, row)
			}
		}
	}
	return rows
}

func after(j propose.JitterAt) float64 { return j.After }

func family(f propose.Fit) Family {
	row := Family{Name: f.Family, Gain: Percent(f.Gain), Centre: Number(f.CentreSlope, 2), Largest: Number(f.MaxSlope, 2)}
	switch f.Family {
	case "power", "blend":
		row.Parameter = Number(f.Parameter, 2)
	case "points":
		row.Parameter = Number(f.Parameter, 0)
	}
	return row
}

func (f *Family) jitter(at []propose.JitterAt, of func(propose.JitterAt) float64) {
	cells := []*string{&f.AtRest, &f.AtNormal, &f.NearStop}
	for i, cell := range cells {
		*cell = noValue
		if i < len(at) {
			*cell = PercentValue(of(at[i]))
		}
	}
}
