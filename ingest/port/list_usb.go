//go:build !darwin || cgo

package port

import (
	"strings"

	"go.bug.st/serial/enumerator"
)

// detailed describes the USB ports by their path.
func detailed() (map[string]Info, error) {
	ports, err := enumerator.GetDetailedPortsList()
	if err != nil {
		return nil, err
	}
	m := make(map[string]Info, len(ports))
	for _, p := range ports {
		if p.IsUSB {
			m[p.Name] = Info{
				Description: strings.TrimSpace(p.Product),
				USB:         strings.ToLower(p.VID + ":" + p.PID),
				Serial:      p.SerialNumber,
			}
		}
	}
	return m, nil
}
