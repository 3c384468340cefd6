package propose

import (
	"math"

	"halfstick/curves"
	"halfstick/fit/measure"
)

// nearStop is the position at which jitter near the stop is given.
const nearStop = 0.9

// jitters compares the command jitter that the sensor's noise makes through the
// straight response with the same calibration and through the proposed one, at
// three hand positions. The noise is that of the sweep's band there, on the
// noisier side, at rest the rest noise.
func jitters(a *measure.Axis, proposed curves.Response, normal float64) []JitterAt {
	before := straightOf(proposed)
	places := []JitterAt{
		{Where: "at rest", At: 0},
		{Where: "at normal deflection", At: normal},
		{Where: "near the stop", At: nearStop},
	}
	for i := range places {
		p := &places[i]
		for _, u := range bothSides(proposed.Kind, p.At) {
			sigma := noiseAt(a, proposed, u)
			p.Before = math.Max(p.Before, 100*commandJitter(&before, u, sigma))
			p.After = math.Max(p.After, 100*commandJitter(&proposed, u, sigma))
		}
	}
	return places
}

// straightOf is the response with the same calibration and nothing else.
func straightOf(r curves.Response) curves.Response {
	return curves.Response{Kind: r.Kind, Calibration: r.Calibration, Low: curves.Straight{}, High: curves.Straight{}}
}

func bothSides(kind curves.Kind, u float64) []float64 {
	if kind == curves.OneSided {
		return []float64{u}
	}
	return []float64{-u, u}
}

// noiseAt returns σ in u at the position u.
func noiseAt(a *measure.Axis, r curves.Response, u float64) float64 {
	counts := a.Rest.Sigma.Value
	if u != 0 {
		for _, b := range a.Sweep.Bands {
			if b.Sigma != nil && u >= b.From && u <= b.To {
				counts = b.Sigma.Value
				break
			}
		}
	}
	perU := scaleOf(r)
	if u < 0 {
		return counts / perU.low
	}
	return counts / perU.high
}

// commandJitter returns the standard deviation of the command when Gaussian
// noise of deviation sigma (u) is added to the position u, by a sum over ±6σ.
func commandJitter(r *curves.Response, u, sigma float64) float64 {
	const steps = 240
	var sum, mean, square float64
	for i := range steps + 1 {
		z := 6 * (2*float64(i)/steps - 1)
		w := math.Exp(-z * z / 2)
		y := r.Command(u + sigma*z)
		sum += w
		mean += w * y
		square += w * y * y
	}
	mean /= sum
	return math.Sqrt(math.Max(0, square/sum-mean*mean))
}

// resolutionShare is the share of the throw whose positions command something
// within the normal deflection: of both sides on the mean.
func resolutionShare(r *curves.Response, normal float64) float64 {
	if r.Kind == curves.OneSided {
		return r.Inverse(normal) - r.Deadband.Low
	}
	high := r.Inverse(normal) - r.Deadband.High
	low := -r.Inverse(-normal) - r.Deadband.Low
	return (low + high) / 2
}
