package rating

import "tautlog/calc/words"

// Caution is a reminder that stands wherever a load is shown: short by
// default, whole where there is room or on demand.
type Caution struct {
	// ID names the caution in pages and files. It does not change.
	ID string `json:"id"`
	// Short is a few words.
	Short string `json:"short"`
	// Long is the whole reminder, in one to three sentences.
	Long string `json:"long"`
	// Source is where it comes from; "common practice, no source" where
	// nothing published was found.
	Source string `json:"source"`
}

// Cautions lists all cautions in the order in which they are shown. The words
// are our own; none is a quotation.
func Cautions() []Caution {
	var out []Caution
	for _, id := range []string{"distance", "attachment", "damper", "inspect", "trained", "slack", "rules", "tool"} {
		of := "caution." + id
		out = append(out, Caution{ID: id, Short: words.Say(of + ".short"), Long: words.Say(of + ".long"), Source: words.Say(of + ".source")})
	}
	return out
}
