package store

import (
	"os"
	"path/filepath"
)

// Neighbours gives the names of the directories beside dir that hold a store, in
// order and without dir itself. What cannot be looked into is left out.
func Neighbours(dir string) (names []string) {
	around, _ := os.ReadDir(filepath.Dir(dir)) // what may not be listed has none to show
	for _, e := range around {
		file, err := os.Stat(filepath.Join(filepath.Dir(dir), e.Name(), databaseName))
		if err == nil && file.Mode().IsRegular() && e.Name() != filepath.Base(dir) {
			names = append(names, e.Name())
		}
	}
	return names
}
