package sheet

// term is a word of the sheet and what it means.
type term struct{ Word, Means string }

// glossary explains every word of the trade that the sheet uses, once.
var glossary = []term{
	{"as it is", "the straight line from stop to stop, without deadband; the other curves have it"},
	{"axis", "one continuous input of a device: a stick's roll, a rudder, a brake"},
	{"command", "what the simulator is told, in percent of full"},
	{"command jitter", "how much the command trembles because of the noise alone (root mean square)"},
	{"correlation", "how much a report resembles the one before it: 0 not at all, 1 wholly"},
	{"counts", "the raw number that the device's position arrives as, −32768 to 32767"},
	{"coupling", "how much of this axis's sweep shows up in another axis that nobody moves"},
	{"cubic blend", "a curve that mixes the straight line with its cube: (1 − share) · v + share · v³"},
	{"deadband", "the positions around rest whose command is zero; each side has its own half-width"},
	{"drift", "slow movement of the counts while nobody touches the control"},
	{"effective bits", "how many bits a sensor with this step would have over the whole scale"},
	{"end margin", "the positions before each stop whose command is already full"},
	{"excursion", "how far the noise may carry the reading beyond the resting place before it counts as false motion; also given in σ"},
	{"false motion", "the noise alone leaves the deadband, so that the simulator sees a movement nobody made"},
	{"gain", "how much of the jitter that any curve could save this one saves"},
	{"hysteresis", "the difference between the reading on the way up and on the way down at the same position"},
	{"interval", "the true value lies within it in 95 of 100 such measurements"},
	{"low side, high side", "below and above the centre, in counts"},
	{"n", "how many readings or events a number rests on"},
	{"noise-free levels", "how many positions can be told apart through the noise: travel / 6.6 σ"},
	{"normal deflection", "the share of half-throw within which nearly all of normal flight is flown"},
	{"position", "where the control is, in percent of half-throw (of throw, for a one-sided axis)"},
	{"power", "a curve that raises the position to an exponent"},
	{"resolution share", "the share of the throw that serves the commands of normal flight; more is finer"},
	{"response", "the whole way from counts to command: calibration, deadband, end margin, curve"},
	{"rest noise σ", "standard deviation of the counts at rest, drift and spikes taken out"},
	{"return gap", "mean resting place after release from the high side minus that from the low side"},
	{"slope", "how fast the command follows the hand: 1 is straight through, below 1 is finer"},
	{"spike", "a single reading, or a few, far off its neighbours"},
	{"stall", "a time in which the device sends nothing although the control moves"},
	{"step", "the smallest change that the sensor can make"},
	{"throw", "how far a control moves from stop to stop; half-throw is centre to one stop"},
	{"two-sided, one-sided", "returns to a centre (stick, rudder); runs from one stop to the other (brake, lever)"},
	{"worn band", "a stretch of the throw in which the sensor is noisier than elsewhere"},
}
