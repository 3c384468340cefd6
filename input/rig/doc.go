// Package rig is a simulated rig: controllers with mass, springs, dampers,
// friction and stops, moved by a scripted hand and read through noisy sensors
// and converters of finite width. It stands in for real controllers where
// there are none: in the demo and in tests, which can hold what was measured
// against what the rig really is (Truth).
//
// Data passes one way: script → hand → mechanics → play → sensor noise, drift
// and spikes → converter → report → counts. input/sdl puts the counts through
// the real input library; this package knows nothing of it.
//
// Mechanics are integrated in fixed steps of 0.5 ms by semi-implicit Euler;
// Coulomb friction is an impulse bounded by friction·step/mass, so a control
// stays wherever the spring's force is less than the friction, and the place
// where it comes to rest depends on the side it was let go from. Tests hold the
// motion against the closed forms of the damped oscillator and of decay by dry
// friction. Forces and noise are invented and plausible; they describe no
// product.
package rig
