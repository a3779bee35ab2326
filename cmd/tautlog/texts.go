package main

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"tautlog/calc/words"
)

const textsHelp = `Writes all texts of the pages and the reports, by name, as one JSON document: what a
translation starts from. Translate the texts, write the tag of the language beside
"language" (as de or pt-BR), and start any command with --texts FILE, or with FILE in
the environment as TAUTLOG_TEXTS.

What stands for a number or a name is written %s, %d and so on, and is in every
translation too; %[2]s is the second of them where the order differs, and %% is the
sign of percent. A text with "one" and "other" counts something: write the forms that
the language has (zero, one, two, few, many, other). [words](1) in a text become a
link. A text that is left out is said in English. What the program logs and what
commands print of themselves stays English.`

func newTexts() *cobra.Command {
	var out string
	c := &cobra.Command{
		Use:   "texts",
		Short: "Write the texts of pages and reports, to translate them",
		Long:  textsHelp,
		Args:  noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if out == "" {
				return words.Write(c.OutOrStdout())
			}
			return writeFile(out, func(w io.Writer) error { return words.Write(w) })
		},
	}
	c.Flags().StringVarP(&out, "output", "o", "", "`file` to write; otherwise standard output")
	return c
}

// speakable lets every command speak the language of a file of texts.
func speakable(root *cobra.Command) {
	from := root.PersistentFlags().String("texts", os.Getenv("TAUTLOG_TEXTS"), "speak by the texts in this `FILE`; see: tautlog texts --help")
	root.PersistentPreRunE = func(*cobra.Command, []string) error {
		if *from == "" {
			return nil
		}
		f, err := os.Open(*from)
		if err != nil {
			return fmt.Errorf("the texts cannot be read: %w", err)
		}
		defer f.Close() //nolint:errcheck // only read
		if err := words.Use(f); err != nil {
			return fmt.Errorf("%s: %w", *from, err)
		}
		return nil
	}
}
