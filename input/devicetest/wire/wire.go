// Package wire is what the device test and the program that it runs inside
// the small machine say to each other: JSON objects, one a line, over a
// virtio-serial port. Files pass through a shared folder instead.
package wire

// Port is the name of the virtio-serial port.
const Port = "halfstick.agent"

// The tags of the two shared folders.
const (
	TagUsr   = "usr"   // the host's /usr, read-only, at /usr
	TagShare = "share" // read and write, at ShareDir
)

// ShareDir is where the machine sees the folder it shares with the test.
const ShareDir = "/share"

// What a request can ask for.
const (
	Start    = "start"     // start Args as process ID
	Signal   = "signal"    // send Number to process ID
	Input    = "input"     // write Text to the standard input of process ID
	EndInput = "end-input" // close the standard input of process ID
)

// Request goes into the machine.
type Request struct {
	ID   int    `json:"id"`
	Do   string `json:"do"`
	Args []string
	Env  []string // added to the machine's own
	// TTY gives the process a terminal for its three streams.
	TTY    bool   `json:",omitempty"`
	Text   string `json:",omitempty"`
	Number int    `json:",omitempty"`
}

// What a reply can report.
const (
	Ready  = "ready"  // the machine is up; ID is 0
	Exited = "exited" // process ID ended with Status, or by Number, a signal
	Failed = "failed" // process ID could not be started; Text says why
)

// Reply comes out of the machine.
type Reply struct {
	ID     int    `json:"id"`
	Is     string `json:"is"`
	Status int    `json:",omitempty"`
	Number int    `json:",omitempty"`
	Text   string `json:",omitempty"`
}
