//go:build darwin && !cgo

package port

// detailed knows nothing here: asking macOS for USB devices needs cgo.
func detailed() (map[string]Info, error) { return nil, nil }
