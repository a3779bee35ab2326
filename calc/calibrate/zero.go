package calibrate

// Zero is a level that a person has had taken off from a moment on. It is kept
// as a reading, so that it stays right under another calibration.
type Zero struct {
	At      int64    `json:"at"` // ns UTC
	Kind    ZeroKind `json:"kind"`
	Reading float64  `json:"reading"` // mean of the steady readings
	SD      float64  `json:"sd"`      // of one of them
	Count   int      `json:"count"`   // how many there were
	Who     string   `json:"who"`
	Note    string   `json:"note,omitempty"`
}

// ZeroKind says what was taken off.
type ZeroKind string

// What a level may be.
const (
	Slack ZeroKind = "zero" // nothing hung on the cell
	Tare  ZeroKind = "tare" // the gear that hangs on it, which is not to count
)
