package propose

import "halfstick/curves"

// addEffects says what every family's shape would do on this axis, with the
// deadband and end margins of r.
func (p *AxisProposal) addEffects(r curves.Response, normal float64) {
	for i := range p.Fits {
		f := &p.Fits[i]
		r.High = f.Shape
		if r.Kind == curves.TwoSided {
			r.Low = f.Shape
		}
		f.ResolutionShare = resolutionShare(&r, normal)
		f.CommandJitter = jitters(p.Measured, r, normal)
	}
}
