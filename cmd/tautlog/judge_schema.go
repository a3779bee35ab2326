package main

import (
	_ "embed"
	"io"
)

// judgeSchema describes what "tautlog judge --json" writes, as JSON Schema
// 2020-12.
//
//go:embed judge.schema.json
var judgeSchema string

func writeJudgeSchema(w io.Writer) error {
	_, err := io.WriteString(w, judgeSchema)
	return err
}
