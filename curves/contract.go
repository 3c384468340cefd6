package curves

// Kind says whether an axis returns to a centre or runs from stop to stop.
type Kind string

// The two kinds of axis; the strings are those of the files.
const (
	TwoSided Kind = "two-sided"
	OneSided Kind = "one-sided"
)

// Shape is a non-falling curve from [0,1] to [0,1] with At(0)=0 and At(1)=1.
// Arguments outside [0,1] are clamped.
type Shape interface {
	// Name is the kind word of the profile file: straight, power, blend, points.
	Name() string
	// At returns the command for the position v, both 0…1 of the shaped stretch.
	At(v float64) float64
	// Slope returns dAt/dv inside (0,1), the one-sided slope at 0 and 1
	// (+Inf possible at 0 for exponents below 1) and 0 outside [0,1].
	Slope(v float64) float64
	// Inverse returns the smallest v with At(v) ≥ y, for y in [0,1].
	Inverse(y float64) float64
}

// Sides holds one number for each side of an axis.
type Sides struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Calibration places the stops and the centre, in counts. Centre is ignored
// for one-sided axes.
type Calibration struct {
	Low    float64 `json:"low"`
	Centre float64 `json:"centre"`
	High   float64 `json:"high"`
}

// Response is the whole way from counts to command of one axis (formats.md):
// calibration, deadband, end margin and a shape per side. Position u and
// command y are −1…1 (two-sided) or 0…1 (one-sided).
type Response struct {
	Kind        Kind
	Calibration Calibration
	Deadband    Sides // u, half-width per side
	EndMargin   Sides // u
	Low, High   Shape // shape per side; one-sided axes use High only
}

// Methods every Response has (see response.go):
//
//	Check() error                       calibration in order, 0 ≤ d, m and d+m < 1, shapes present
//	Position(counts float64) float64    u, clamped
//	Command(u float64) float64          y
//	FromCounts(counts float64) float64  Command(Position(counts))
//	Slope(u float64) float64            dy/du, 0 where flat
//	Inverse(y float64) float64          smallest |u| that commands y; 0 → 0
//	ToCounts(u float64) float64         the inverse of Position, in counts
//	Compile() *Compiled                 65,536 entries, int16 → int16
//	Table(TableOptions) (Table, error)  breakpoints
//
// Profile is the file that keeps one response per axis (profile.go):
//
//	type Profile struct { Axes []ProfileAxis; extra fields kept }
//	type ProfileAxis struct { Device DeviceRef{Name, GUID string}; Index int; Label string; Response Response; Reasons []string; extra fields kept }
//	ReadProfile(r io.Reader, name string) (*Profile, error)   errors carry file name and JSON path
//	ParseProfile(data []byte, name string) (*Profile, error)
//	(*Profile).Write(w io.Writer) error
//	(*Profile).Axis(label string) (*ProfileAxis, error)        error lists the labels there are
//	ParseCurve(s string) (Shape, error)                        straight, power:1.6, blend:0.4
