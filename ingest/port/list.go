package port

import (
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"go.bug.st/serial"

	"tautlog/calc/words"
)

// Info is a serial port that the computer has.
type Info struct {
	Path        string `json:"path"`
	Description string `json:"description,omitempty"` // what the device says of itself
	USB         string `json:"usb,omitempty"`         // vendor and product number, "1a86:7523"
	Serial      string `json:"serial,omitempty"`      // serial number of a USB device
	// Stable is another name of the port that stays when devices are plugged
	// in in another order; empty where the system has none.
	Stable string `json:"stable,omitempty"`
	// Problem says why this user cannot open the port, and what to do; empty
	// when nothing stands in the way that can be seen without opening it.
	Problem string `json:"problem,omitempty"`
}

// Says is what is known of the device in the words of people; empty: nothing.
func (i Info) Says() string {
	var parts []string
	if i.Description != "" {
		parts = append(parts, i.Description)
	}
	if i.USB != "" {
		parts = append(parts, "USB "+i.USB)
	}
	if i.Serial != "" {
		parts = append(parts, words.Say("port.serial", i.Serial))
	}
	return strings.Join(parts, ", ")
}

// List gives the serial ports of the computer, USB devices first.
func List() ([]Info, error) {
	names, err := serial.GetPortsList()
	if err != nil {
		return nil, words.Error("port.list", err)
	}
	details, err := detailed()
	if err != nil {
		return nil, words.Error("port.list.usb", err)
	}
	stable := stableNames("/dev/serial/by-id")
	infos := make([]Info, 0, len(names))
	for _, name := range names {
		i := details[name]
		i.Path, i.Stable = name, stable[name]
		if denied(name) {
			i.Problem = (&Problem{Line: Line{Path: name}, Kind: Denied}).Error()
		}
		infos = append(infos, i)
	}
	sortInfos(infos)
	return infos, nil
}

// Hidden gives the problem of a built-in port that List leaves out because
// this user may not open it: only opening shows whether there is anything
// behind the name. It is nil where there is none.
func Hidden() error { return hidden("/dev/ttyS*") }

func hidden(pattern string) error {
	names, _ := filepath.Glob(pattern) // the pattern is never bad
	for _, name := range names {
		if denied(name) {
			return &Problem{Line: Line{Path: name}, Kind: Denied, Err: fs.ErrPermission}
		}
	}
	return nil
}

// sortInfos puts USB devices first, and else goes by name.
func sortInfos(infos []Info) {
	slices.SortFunc(infos, func(a, b Info) int {
		if (a.USB != "") != (b.USB != "") {
			return strings.Compare(b.USB, a.USB)
		}
		return strings.Compare(a.Path, b.Path)
	})
}

// stableNames maps devices to the links in a directory that point to them.
func stableNames(dir string) map[string]string {
	links, _ := filepath.Glob(filepath.Join(dir, "*")) // the pattern is never bad
	names := make(map[string]string, len(links))
	for _, l := range links {
		if device, err := filepath.EvalSymlinks(l); err == nil {
			names[device] = l
		}
	}
	return names
}
