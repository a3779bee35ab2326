package webtest

import "encoding/json"

// quote writes s as a JavaScript string.
func quote(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		panic("webtest: a string that is no JSON: " + err.Error())
	}
	return string(b)
}
