package pull

import "tautlog/calc/words"

// FlagName is what people are told a flag is called.
func FlagName(flag string) string {
	if name := "flag." + flag; words.Known(name) {
		return words.Say(name)
	}
	return flag
}

// FlagNames are those of several flags.
func FlagNames(flags []string) (names []string) {
	for _, f := range flags {
		names = append(names, FlagName(f))
	}
	return names
}
