package words

import (
	"embed"
	"encoding/json"
)

//go:embed english/*.json
var files embed.FS

// english holds all texts. A name that is in two files, and a text without the
// form "other", are a programmer's mistake and panic when the program starts.
var english = load()

func load() map[string]forms {
	all := map[string]forms{}
	entries, err := files.ReadDir("english")
	if err != nil {
		panic("words: " + err.Error())
	}
	for _, e := range entries {
		b, err := files.ReadFile("english/" + e.Name())
		if err != nil {
			panic("words: " + err.Error())
		}
		var area map[string]forms
		if err := json.Unmarshal(b, &area); err != nil {
			panic("words: " + e.Name() + ": " + err.Error())
		}
		for name, f := range area {
			if _, there := all[name]; there {
				panic("words: two texts " + name)
			}
			all[name] = f
		}
	}
	return all
}

// UnmarshalJSON reads a text alone, or an object of its forms.
func (f *forms) UnmarshalJSON(b []byte) error {
	if b[0] == '"' {
		var s string
		err := json.Unmarshal(b, &s)
		*f = forms{other: s}
		return err
	}
	return json.Unmarshal(b, (*map[string]string)(f))
}

// MarshalJSON writes a text as it is read.
func (f forms) MarshalJSON() ([]byte, error) {
	if len(f) == 1 {
		return json.Marshal(f[other])
	}
	return json.Marshal(map[string]string(f))
}
