package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"tautlog/ingest/archive"
)

// newArchive is what has to do with an InfluxDB server.
func newArchive() *cobra.Command {
	c := &cobra.Command{
		Use:   "archive",
		Short: "Push recordings to an InfluxDB server, see how far that is, get them back",
		Long: `Keeps a copy of the readings and pulls of this store, and of those of other
laptops, in an InfluxDB server of version 2 or 1.8. The store never depends on it:
what the server does not take waits here and is pushed when it does.

` + archiveHelp,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("%q is nothing to do with an archive; see: %s --help", args[0], c.CommandPath())
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newArchivePush(), newArchiveStatus(), newArchivePull())
	return c
}

const archiveHelp = `The archive is told by archive.json in the directory of the store:

  {"url": "https://archive.example:8086", "org": "club", "bucket": "recovery",
   "token_file": "archive.token", "ca_file": "club.pem", "station": "heron"}

org, ca_file and station may be left out. For InfluxDB 1.8 there is no org, the
bucket is "database/autogen" and the token "user:password". token_file holds the
token alone and must be readable by nobody else (chmod 600). station is what this
store is called there, by default the computer's name and four digits; it cannot
be changed after the first push. Names of files are looked for beside it. "serve"
and "record" heed a change of archive.json, or of the token, within two seconds.

--archive FILE takes another file. --archive URL takes no file, but the other flags.
Each flag may be given in the environment: TAUTLOG_ARCHIVE (FILE or URL),
TAUTLOG_ARCHIVE_ORG, _BUCKET, _TOKEN_FILE, _CA_FILE, _STATION, and TAUTLOG_ARCHIVE_TOKEN
for the token itself.`

// archiveFlags say which archive.
type archiveFlags struct {
	at   string // a file or a URL
	more archive.Settings
}

func (a *archiveFlags) add(f *pflag.FlagSet) {
	f.StringVar(&a.at, "archive", "", "the archive: a `file` of settings, or the URL of its server; otherwise archive.json in the directory of the store; see: tautlog archive --help")
	f.StringVar(&a.more.Org, "archive-org", "", "`organisation` of the archive")
	f.StringVar(&a.more.Bucket, "archive-bucket", "", "`bucket` of the archive")
	f.StringVar(&a.more.TokenFile, "archive-token-file", "", "`file` that holds the token of the archive")
	f.StringVar(&a.more.CAFile, "archive-ca-file", "", "`file` of certificates to trust beside those of the system")
}

// addStation defines the flag for what this store is called.
func (a *archiveFlags) addStation(f *pflag.FlagSet) {
	f.StringVar(&a.more.Station, "archive-station", "", "`name` of this store in the archive, before it is pushed first")
}

// settings are those that are told: flags before the environment before the
// file. It is false where none are.
func (a *archiveFlags) settings(dir string, remarks io.Writer) (archive.Settings, bool, error) {
	told, err := a.told(dir, remarks)
	return told.Settings, told.Given, err
}

// told is what is told of the archive. Where flags and environment say nothing
// of it, what stands in the directory of the store may be changed.
func (a *archiveFlags) told(dir string, remarks io.Writer) (archive.Told, error) {
	env := func(name string) string { return os.Getenv("TAUTLOG_ARCHIVE" + name) }
	t := archive.Told{Settings: a.more.Or(archive.Settings{Org: env("_ORG"), Bucket: env("_BUCKET"), TokenFile: env("_TOKEN_FILE"), CAFile: env("_CA_FILE"),
		Station: env("_STATION"), Token: archive.Secret(env("_TOKEN"))})}
	at := a.at
	if at == "" {
		at = env("")
	}
	t.Fixed = at != "" || t.Settings != archive.Settings{}
	if at == "" && dir != "" {
		if _, err := os.Stat(filepath.Join(dir, archive.SettingsName)); err == nil {
			at = filepath.Join(dir, archive.SettingsName)
		}
	}
	if t.Given = at != ""; !t.Given {
		return t, nil
	}
	if strings.Contains(at, "://") {
		t.URL = at
	} else {
		file, err := archive.ReadSettings(at)
		if err != nil {
			return t, err
		}
		t.Settings = t.Settings.Or(file)
	}
	if t.Unsealed() {
		fmt.Fprintf(remarks, "remark: the token goes to %s unencrypted, where others on the network may read it; use https\n", t.URL)
	}
	return t, t.Check()
}

// rereadEvery is how long what somebody writes into archive.json may wait.
const rereadEvery = 2 * time.Second

// rereadArchive has a carrier take what is told of the archive anew as soon as
// its file, or that of its token, is not as before, until ctx ends. Before is
// what fileStamp said of the two before they were read.
func rereadArchive(ctx context.Context, c *archive.Carrier, dir, before string, told func() (archive.Told, error)) {
	look := time.NewTicker(rereadEvery)
	defer look.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-look.C:
		}
		now := fileStamp(filepath.Join(dir, archive.SettingsName)) + fileStamp(c.Told().TokenFile)
		if now != before {
			before = now
			c.Reread(ctx, told)
		}
	}
}

// fileStamp changes with a file and with who may read it; it is empty where
// there is none.
func fileStamp(name string) string {
	info, err := os.Stat(name)
	if err != nil {
		return ""
	}
	return fmt.Sprintf("%s %d %s %s\n", name, info.Size(), info.ModTime(), info.Mode())
}

// connect wants an archive to be told.
func (a *archiveFlags) connect(dir string, remarks io.Writer) (*archive.Server, error) {
	settings, told, err := a.settings(dir, remarks)
	if err != nil {
		return nil, err
	}
	if !told {
		return nil, usagef("no archive is told: write %s, or add --archive FILE or --archive URL; see: tautlog archive --help", filepath.Join(dir, archive.SettingsName))
	}
	return archive.Connect(settings)
}
