package store

import "golang.org/x/sys/windows"

// room is how many bytes this program may still write to the disk of a
// directory; false: the system does not say.
func room(dir string) (free uint64, known bool) {
	name, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return 0, false
	}
	err = windows.GetDiskFreeSpaceEx(name, &free, nil, nil)
	return free, err == nil
}
