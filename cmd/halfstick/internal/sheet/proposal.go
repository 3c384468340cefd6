package sheet

import (
	"fmt"
	"strconv"
	"strings"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/curves"
	"halfstick/fit/propose"
)

// proposal is the half of an axis's section that says what to do about it.
type proposal struct {
	Before, After string // resolution share
	Levels        string
	Shape         string
	Calibration   string
	Deadband      []deadband
	FalseMotions  string
	EndMargin     string
	Families      []familyRow
	NormalAt      string // positions of the jitter's columns
	StopAt        string
	Reasons       []string
	Blocks        [][]breakpoint // the table, in three columns
	TableSays     string
}

type deadband struct{ Side, HalfWidth, Resting, Excursion, Sigmas string }

// familyRow is a row of the curves that were weighed, under its words.
type familyRow struct {
	Words string
	text.Family
}

type breakpoint struct{ Counts, Position, Command string }

// proposalOf sets what is suggested for an axis; response is nil when the
// suggested one is not sound.
func proposalOf(s *propose.AxisProposal, response *curves.Response, o curves.TableOptions) *proposal {
	p := &proposal{
		Before: text.Percent(s.ResolutionBefore), After: text.Percent(s.ResolutionAfter),
		Shape: shapes(&s.Profile.Response), Reasons: s.Reasons,
	}
	if s.LevelsBefore > 0 {
		p.Levels = fmt.Sprintf("%s → %s noise-free levels", text.Number(s.LevelsBefore, 0), text.Number(s.LevelsAfter, 0))
	}
	p.addDeadband(s)
	p.addFamilies(s)
	if response == nil {
		p.TableSays = "The proposed response does not hold together, so it has no table."
		return p
	}
	c := response.Calibration
	p.Calibration = "from " + text.Number(c.Low, 0) + " to " + text.Number(c.High, 0) + " counts"
	if response.Kind != curves.OneSided {
		p.Calibration = fmt.Sprintf("low stop %s, centre %s, high stop %s counts", text.Number(c.Low, 0), text.Number(c.Centre, 0), text.Number(c.High, 0))
	}
	p.addTable(response, o)
	return p
}

func (p *proposal) addDeadband(s *propose.AxisProposal) {
	r := s.Profile.Response
	p.FalseMotions = strconv.FormatFloat(s.Deadband.FalseMotionsPerMinute, 'g', 3, 64)
	side := func(name string, halfWidth float64, d propose.DeadbandSide) {
		p.Deadband = append(p.Deadband, deadband{
			name, text.Percent(halfWidth), text.Percent(d.Resting), text.Percent(d.Excursion), text.Significant(d.ExcursionSigma, 2),
		})
	}
	if r.Kind == curves.OneSided {
		side("idle stop", r.Deadband.Low, s.Deadband.Low)
		p.EndMargin = text.Percent(r.EndMargin.High)
		return
	}
	side("low", r.Deadband.Low, s.Deadband.Low)
	side("high", r.Deadband.High, s.Deadband.High)
	p.EndMargin = text.Percent(r.EndMargin.Low) + " low, " + text.Percent(r.EndMargin.High) + " high"
}

// family is how a family of shapes reads.
var family = map[string]string{"blend": "cubic blend", "bound": "best possible"}

func (p *proposal) addFamilies(s *propose.AxisProposal) {
	if len(s.Fits) == 0 {
		return
	}
	p.NormalAt, p.StopAt = "normal deflection", "near the stop"
	if len(s.Jitter) == 3 {
		p.NormalAt, p.StopAt = "at "+text.Percent(s.Jitter[1].At), "at "+text.Percent(s.Jitter[2].At)
	}
	for _, f := range text.Families(s) {
		words, known := family[f.Name]
		if !known {
			words = f.Name
		}
		if f.Parameter != "" {
			words += " " + f.Parameter
		}
		if f.Side != "" {
			words = f.Side + " side: " + words
		}
		p.Families = append(p.Families, familyRow{words, f})
	}
}

// shapes describes the shape or, where the sides differ, both.
func shapes(r *curves.Response) string {
	high := shape(r.High)
	if r.Kind == curves.OneSided || r.Low == nil {
		return high
	}
	if low := shape(r.Low); low != high {
		return "low side " + low + ", high side " + high
	}
	return high
}

func shape(s curves.Shape) string {
	switch s := s.(type) {
	case nil:
		return "none"
	case curves.Straight:
		return "straight"
	case curves.Power:
		return "power, exponent " + text.Number(s.Exponent, 2)
	case curves.Blend:
		return "cubic blend, share " + text.Number(s.Share, 2)
	default:
		return s.Name()
	}
}

const columnsOfTable = 3

func (p *proposal) addTable(r *curves.Response, o curves.TableOptions) {
	if o == (curves.TableOptions{}) {
		o = curves.TableOptions{Points: 21, Places: 1, Spacing: curves.Even}
	}
	t, err := r.Table(o)
	if err != nil {
		p.TableSays = "No table: " + err.Error()
		return
	}
	p.TableSays = fmt.Sprintf("%d points; straight lines between them err by %s of full command at most.",
		len(t.Points), text.PercentValue(t.MaxError))
	var all []breakpoint
	for _, b := range t.Points {
		all = append(all, breakpoint{
			strings.Replace(strconv.Itoa(b.Counts), "-", "−", 1),
			text.Number(100*b.Position, t.Places), text.Number(100*b.Command, t.Places),
		})
	}
	rows := (len(all) + columnsOfTable - 1) / columnsOfTable
	for len(all) > 0 {
		n := min(rows, len(all))
		p.Blocks = append(p.Blocks, all[:n])
		all = all[n:]
	}
}
