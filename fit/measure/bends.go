package measure

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"halfstick/fit/stats"
)

const (
	bendBins  = 100 // of u: 1 % of throw each
	bendWays  = 3
	bendNear  = 5   // bins either side whose scatter between ways is pooled
	bendSure  = 4.0 // standard errors that the mean of a place must be off
	bendLeast = 0.5 // and so much of the noise, or of a step
)

// unbent leaves out the residuals within a window of a place where the reading
// itself bends: the end of a plateau, a jump, a side with another slope. There
// the residuals of all ways are off to the same side, while noise is off to
// either, and how far they are off varies with the hand's speed, which would
// pass for a noisy stretch.
func (a *analysis) unbent(res []residual) []residual {
	bent := a.bentBins(res)
	w := a.window()
	type place struct{ segment, at int }
	var marks []place
	for _, r := range res {
		if bent[a.bin(r.u, bendBins)] {
			marks = append(marks, place{r.segment, r.at})
		}
	}
	if len(marks) == 0 {
		return res
	}
	// Residuals and marks come in order, so that one walk over both will do.
	var out []residual
	k := 0
	for _, r := range res {
		for k < len(marks) && (marks[k].segment < r.segment || marks[k].segment == r.segment && marks[k].at < r.at-w) {
			k++
		}
		if k < len(marks) && marks[k].segment == r.segment && marks[k].at <= r.at+w {
			continue
		}
		out = append(out, r)
	}
	return out
}

// bin is the place of u among n equal bins of its range.
func (a *analysis) bin(u float64, n int) int {
	from := a.leastU()
	return min(n-1, max(0, int(math.Floor((u-from)/(1-from)*float64(n)))))
}

// sure is the multiple of a standard error from df degrees of freedom that is as
// rare as bendSure of a known one.
func sure(df float64) float64 {
	if df < 1 {
		return math.Inf(1)
	}
	return distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(distuv.UnitNormal.CDF(bendSure))
}

func (a *analysis) bentBins(res []residual) [bendBins]bool {
	var means [bendBins][]float64 // of each way that passes
	var sums, squares, counts [bendBins]float64
	for i := 0; i < len(res); {
		b, way := a.bin(res[i].u, bendBins), res[i].way
		sum, n := 0.0, 0.0
		for ; i < len(res) && res[i].way == way && a.bin(res[i].u, bendBins) == b; i++ {
			sum += res[i].r
			squares[b] += res[i].r * res[i].r
			n++
		}
		sums[b], counts[b] = sums[b]+sum, counts[b]+n
		means[b] = append(means[b], sum/n)
	}
	var mid, square, free [bendBins]float64
	for b, m := range means {
		if len(m) >= 2 {
			mean, sd := stats.MeanSD(m)
			mid[b], free[b] = mean, float64(len(m)-1)
			square[b] = sd * sd * free[b]
		}
	}
	least := bendLeast * math.Max(roughSigma(deviationsOf(res)), a.step)
	var bent [bendBins]bool
	for b, m := range means {
		pooled := func(near int) (variance, df float64) {
			sq := 0.0
			for k := max(0, b-near); k <= min(bendBins-1, b+near); k++ {
				sq, df = sq+square[k], df+free[k]
			}
			return sq / df / float64(len(m)), df
		}
		around, df := pooled(bendNear)
		// The places around may be quieter, as around a worn band: then what is
		// nearest counts, and the scatter of the place's own residuals.
		nearest, _ := pooled(1)
		own := (squares[b] - sums[b]*sums[b]/math.Max(1, counts[b])) / math.Max(1, counts[b]*(counts[b]-1))
		unsure := math.Max(sure(df)*math.Sqrt(around), bendSure*math.Sqrt(math.Max(nearest, own)))
		bent[b] = len(m) >= bendWays && math.Abs(mid[b]) > math.Max(least, unsure)
	}
	for _, p := range a.out.Sweep.Plateaus {
		bent[a.bin((p.From+p.To)/2, bendBins)] = true
	}
	return bent
}
