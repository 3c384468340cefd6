package rig

import "math/rand/v2"

// Outages come by chance, PerMinute on the mean, and last Seconds give or take
// a quarter. The zero value is none.
type Outages struct{ PerMinute, Seconds float64 }

// Interval is a stretch of time, in seconds since the start.
type Interval struct{ From, To float64 }

// outages keeps the outages of one kind of one device.
type outages struct {
	spec   Outages
	chance *rand.Rand
	next   Interval
	past   []Interval // those that have begun
	begun  bool       // next is in past
}

func newOutages(spec Outages, seed, stream uint64) *outages {
	o := &outages{spec: spec, chance: rand.New(rand.NewPCG(seed, outageStream+stream))}
	o.plan(0)
	return o
}

// plan draws the next outage after time t.
func (o *outages) plan(t float64) {
	if o.spec.PerMinute <= 0 {
		return
	}
	from := t + o.chance.ExpFloat64()*60/o.spec.PerMinute
	o.next = Interval{from, from + o.spec.Seconds*(0.75+0.5*o.chance.Float64())}
	o.begun = false
}

// at tells whether there is an outage at t. t must not fall from call to call.
func (o *outages) at(t float64) bool {
	if o.spec.PerMinute <= 0 || t < o.next.From {
		return false
	}
	if !o.begun {
		o.past, o.begun = append(o.past, o.next), true
	}
	if t < o.next.To {
		return true
	}
	o.plan(o.next.To)
	return false
}
