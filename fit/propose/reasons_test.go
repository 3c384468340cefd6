package propose

import "testing"

// Nobody is told that a share is "50 % instead of 50 %".
func TestShareSays(t *testing.T) {
	for _, c := range []struct {
		before, after float64
		want          string
	}{
		{0.5, 0.668, "get 66.8 % of the throw instead of 50 %"},
		{0.5, 0.50001, "keep 50 % of the throw"},
		{0.5, 0.484, "get 48.4 % of the throw, 50 % without the deadband"},
	} {
		p := AxisProposal{}
		p.ResolutionBefore, p.ResolutionAfter = c.before, c.after
		if got := p.ShareSays(); got != c.want {
			t.Errorf("from %g to %g: %q, want %q", c.before, c.after, got, c.want)
		}
	}
}
