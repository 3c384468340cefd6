package sdl

// identity is what tells a controller from others, and one unit from its twin.
type identity struct {
	name, guid string
	axes       int
	serial     string // as the device gives it, "" if it has none
	port       string // where it is plugged in, "" if the system does not say
}

// kin tells whether two controllers are of one kind, so that one might be the
// other come back.
func (id identity) kin(other identity) bool {
	return id.name == other.name && id.guid == other.guid && id.axes == other.axes
}

// nobody is the position of no controller.
const nobody = -1

// rejoin says which of those that went away a controller is that has come: its
// position in away, or nobody. here are those of the rig that never left.
//
// The serial number decides, unless a unit beside it has the same (some makers
// give all theirs one); else the port; where neither is known, it must be the
// only one of its kind. A controller without a serial number in another port is
// therefore not taken for the one that left: it might be its twin.
func rejoin(came identity, away, here []identity) int {
	var fits []int
	for i, id := range away {
		if came.kin(id) && came.serial == id.serial {
			fits = append(fits, i)
		}
	}
	twins := 0
	for _, id := range here {
		if came.kin(id) && came.serial == id.serial {
			twins++
		}
	}
	if len(fits) == 1 && twins == 0 && (came.serial != "" || came.port == "" && away[fits[0]].port == "") {
		return fits[0]
	}
	for _, i := range fits {
		if came.port != "" && came.port == away[i].port {
			return i
		}
	}
	return nobody
}
