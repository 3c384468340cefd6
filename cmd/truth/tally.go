package main

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"halfstick/fit/measure"
	"halfstick/fit/stats"
)

// outcome is what came of one device.
type outcome struct {
	made      string
	samples   []sample
	axes      []verdict
	promises  []promise
	proposals []proposed
}

// verdict is what was found on one axis, and what was there.
type verdict struct {
	causes map[string]float64 // times the threshold
	acting map[string]bool    // found with severity compensate or repair
	any    map[string]bool    // found with any severity but good
}

// run simulates, records and measures one device, and where it is its turn holds
// its deadbands against a session, or flies it.
func (s series) run(i int) (outcome, error) {
	d := s.draw(i)
	r, err := record(d)
	if err != nil {
		return outcome{}, err
	}
	m, err := measure.Recording(r.rec, "simulated")
	if err != nil {
		return outcome{}, err
	}
	out := outcome{made: d.made}
	if every := s.sessions.every; every > 0 && i%every == 0 {
		if out.promises, err = keeps(d, r, m, s.sessions.minutes); err != nil {
			return outcome{}, err
		}
	}
	if every := s.flights.every; every > 0 && i%every == every/2 {
		if out.proposals, err = proposes(d, r, m, s.flights); err != nil {
			return outcome{}, err
		}
	}
	var c comparison
	for k := range m.Axes {
		a := &m.Axes[k]
		e := truthOf(d, r, k)
		c.compare(d, r, k, a, e)
		v := verdict{causes: e.causes, acting: map[string]bool{}, any: map[string]bool{}}
		for _, f := range a.Findings {
			acts := f.Severity == measure.Compensate || f.Severity == measure.Repair
			v.acting[f.Code] = v.acting[f.Code] || acts
			v.any[f.Code] = v.any[f.Code] || f.Severity != measure.Good
		}
		out.axes = append(out.axes, v)
	}
	out.samples = c.samples
	return out, nil
}

// summary is a row of the table of quantities.
type summary struct {
	n, missing, intervals, hits int
	bias, rms, median, within95 float64
	width                       float64 // median
}

// offCoverage tells whether hits of n intervals are below 93 % or above 97 % by more
// than two standard errors that a count of n has at these shares. That at the share
// reached would be 0 where all hold, however few there are.
func offCoverage(hits, n int) bool {
	p := float64(hits) / float64(n)
	two := func(at float64) float64 { return 2 * math.Sqrt(at*(1-at)/float64(n)) }
	return p < 0.93-two(0.93) || p > 0.97+two(0.97)
}

// coverage is the share of intervals that hold the truth, in percent, and its
// standard error.
func (s summary) coverage() (percent, se float64) {
	p := float64(s.hits) / float64(s.intervals)
	return 100 * p, 100 * math.Sqrt(p*(1-p)/float64(s.intervals))
}

// summarise sums up the samples of one row.
func summarise(all []outcome, row string) summary {
	var s summary
	var errs, sizes, widths []float64
	for _, o := range all {
		for _, x := range o.samples {
			if x.row != row {
				continue
			}
			s.n++
			if x.missing {
				s.missing++
				continue
			}
			errs, sizes = append(errs, x.err), append(sizes, math.Abs(x.err))
			if !math.IsNaN(x.width) {
				s.intervals++
				widths = append(widths, x.width)
				if x.hit {
					s.hits++
				}
			}
		}
	}
	if len(errs) == 0 {
		return s
	}
	s.bias = stat.Mean(errs, nil)
	for _, e := range errs {
		s.rms += e * e / float64(len(errs))
	}
	s.rms = math.Sqrt(s.rms)
	s.median, s.within95 = stats.Quantile7(sizes, 0.5), stats.Quantile7(sizes, 0.95)
	if len(widths) > 0 {
		s.width = stats.Quantile7(widths, 0.5)
	}
	return s
}

// rate counts how often something was found.
type rate struct{ found, of int }

func (r rate) percent() float64 { return 100 * float64(r.found) / float64(r.of) }

// detection is how one finding did.
type detection struct {
	clear, clearAny rate // axes with a clear fault; found acting, found at all
	healthy         rate // axes of healthy devices; found acting
	sound           rate // axes of all devices that are sound in this respect
}

func detect(all []outcome, code string) detection {
	var d detection
	count := func(r *rate, hit bool) {
		r.of++
		if hit {
			r.found++
		}
	}
	for _, o := range all {
		for _, v := range o.axes {
			times := v.causes[code]
			if times >= clearFault {
				count(&d.clear, v.acting[code])
				count(&d.clearAny, v.any[code])
			}
			if times <= soundShare {
				count(&d.sound, v.acting[code])
			}
			if o.made == healthy {
				count(&d.healthy, v.acting[code])
			}
		}
	}
	return d
}

// falseAlarms counts healthy devices with at least one acting finding.
func falseAlarms(all []outcome) rate {
	var r rate
	for _, o := range all {
		if o.made != healthy {
			continue
		}
		r.of++
		for _, v := range o.axes {
			if anyTrue(v.acting) {
				r.found++
				break
			}
		}
	}
	return r
}

func anyTrue(m map[string]bool) bool {
	for _, v := range m {
		if v {
			return true
		}
	}
	return false
}

// confusion counts, for devices made with one fault, on how many of them each
// finding acts on the first axis: for the fault itself always, for another only
// where the axis is sound in that respect.
func confusion(all []outcome, made, code string) rate {
	var r rate
	for _, o := range all {
		if o.made != made {
			continue
		}
		r.of++
		v := o.axes[0]
		if v.acting[code] && (code == made || v.causes[code] <= soundShare) {
			r.found++
		}
	}
	return r
}
