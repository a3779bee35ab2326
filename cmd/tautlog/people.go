package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"tautlog/dashboards/people"
	"tautlog/ingest/store"
)

// newPeople is who may use the pages from another machine.
func newPeople() *cobra.Command {
	c := &cobra.Command{
		Use:   "people",
		Short: "Who may use the pages from a phone",
		Long: `Who may sign in to the pages from another machine, once serve opens them to the local network. An operator changes things, a
viewer only looks. All of it may be done while serve goes on, and on its page "People and phones" too.`,
		Args: noArgs,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newPeopleAdd(), newPeopleList(), newPeoplePassword(), newPeopleSignOut(), newPeopleRemove())
	return c
}

// onPeople runs f on the people of a store, beside a daemon.
func onPeople(data string, f func(*store.Store, *people.Desk) error) error {
	st, err := store.OpenEditor(data, store.Options{Who: userHere()})
	if err != nil {
		return err
	}
	return errors.Join(f(st, people.NewDesk(st, time.Now)), st.Close())
}

func personCommand(use, short string, flags func(*cobra.Command), run func(c *cobra.Command, st *store.Store, d *people.Desk, name string) error) *cobra.Command {
	var data string
	c := &cobra.Command{
		Use: use, Short: short,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usagef("give one name; put it in quotes if it has a space")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			return onPeople(data, func(st *store.Store, d *people.Desk) error { return run(c, st, d, args[0]) })
		},
	}
	c.Flags().StringVar(&data, "data", defaultData(), "directory of the store")
	if flags != nil {
		flags(c)
	}
	return c
}

func newPeopleAdd() *cobra.Command {
	var role string
	var none bool
	c := personCommand("add NAME", "Add somebody", func(c *cobra.Command) {
		c.Flags().StringVar(&role, "role", string(people.Viewer), "operator: changes things; viewer: only looks")
		c.Flags().BoolVar(&none, "no-password", false, "no password: signed in by codes of the page \"People and phones\" only")
	}, func(c *cobra.Command, _ *store.Store, d *people.Desk, name string) error {
		if !people.Role(role).Known() {
			return usagef("--role %q: say operator or viewer", role)
		}
		password := ""
		if !none {
			var err error
			if password, err = askPassword(c); err != nil {
				return err
			}
		}
		p, err := d.Add(c.Context(), name, people.Role(role), password)
		if err == nil {
			fmt.Fprintf(c.OutOrStdout(), "%s may sign in as %s.\n", p.Name, p.Role)
		}
		return err
	})
	c.Long = "Adds somebody. The password is asked for, or read as one line from standard input."
	c.Example = "  tautlog people add Mira --role operator\n  tautlog people add Jun --no-password"
	return c
}

func newPeoplePassword() *cobra.Command {
	return personCommand("password NAME", "Give somebody another password", nil, func(c *cobra.Command, st *store.Store, d *people.Desk, name string) error {
		p, err := personNamed(c, st, name)
		if err != nil {
			return err
		}
		password, err := askPassword(c)
		if err != nil {
			return err
		}
		if err := d.SetPassword(c.Context(), p.ID, password); err != nil {
			return err
		}
		fmt.Fprintf(c.OutOrStdout(), "%s has another password and is signed out everywhere.\n", p.Name)
		return nil
	})
}

func newPeopleSignOut() *cobra.Command {
	return personCommand("sign-out NAME", "Sign somebody out everywhere, for a phone that is lost", nil, func(c *cobra.Command, st *store.Store, _ *people.Desk, name string) error {
		p, err := personNamed(c, st, name)
		if err == nil {
			err = st.EndSessions(c.Context(), p.ID)
		}
		if err == nil {
			fmt.Fprintf(c.OutOrStdout(), "%s is signed out everywhere.\n", p.Name)
		}
		return err
	})
}

func newPeopleRemove() *cobra.Command {
	return personCommand("remove NAME", "Remove somebody, and sign them out everywhere", nil, func(c *cobra.Command, st *store.Store, _ *people.Desk, name string) error {
		p, err := personNamed(c, st, name)
		if err == nil {
			err = st.RemovePerson(c.Context(), p.ID)
		}
		if err == nil {
			fmt.Fprintf(c.OutOrStdout(), "%s is removed. What they changed stays, under their name.\n", p.Name)
		}
		return err
	})
}

func personNamed(c *cobra.Command, st *store.Store, name string) (store.Person, error) {
	p, err := st.PersonByName(c.Context(), name)
	if errors.Is(err, store.ErrNotFound) {
		return p, fmt.Errorf("nobody is called %s in this store; see: tautlog people list", name)
	}
	return p, err
}

// personListed is a line of people list --json.
type personListed struct {
	Name     string    `json:"name"`
	Role     string    `json:"role"`
	Password bool      `json:"password"`
	Made     time.Time `json:"made"`
	Devices  int       `json:"devices"`
}

func newPeopleList() *cobra.Command {
	var data string
	var asJSON bool
	c := &cobra.Command{
		Use: "list", Short: "List everybody", Args: noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			st, err := store.OpenReader(data)
			if err != nil {
				return err
			}
			listed, err := listPeople(c, st)
			if err := errors.Join(err, st.Close()); err != nil {
				return err
			}
			return printPeople(c.OutOrStdout(), listed, asJSON)
		},
	}
	c.Flags().StringVar(&data, "data", defaultData(), "directory of the store")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

func listPeople(c *cobra.Command, st *store.Store) ([]personListed, error) {
	all, err := st.People(c.Context())
	if err != nil {
		return nil, err
	}
	sessions, err := st.Sessions(c.Context())
	out := []personListed{}
	for _, p := range all {
		l := personListed{Name: p.Name, Role: p.Role, Password: p.Password != "", Made: p.Made}
		for _, n := range sessions {
			if n.Person.ID == p.ID && n.Ends.After(time.Now()) {
				l.Devices++
			}
		}
		out = append(out, l)
	}
	return out, err
}

func printPeople(out io.Writer, listed []personListed, asJSON bool) error {
	if asJSON {
		return json.NewEncoder(out).Encode(map[string]any{"people": listed})
	}
	if len(listed) == 0 {
		fmt.Fprintln(out, "Nobody yet. Add the first operator: tautlog people add NAME --role operator")
	}
	for _, l := range listed {
		by := "by password or code"
		if !l.Password {
			by = "by code only"
		}
		fmt.Fprintf(out, "%s: %s, signs in %s, on %d devices now\n", l.Name, l.Role, by, l.Devices)
	}
	return nil
}

// askPassword asks a person at a terminal twice, without showing it; from
// elsewhere it reads one line.
func askPassword(c *cobra.Command) (string, error) {
	if in, ok := c.InOrStdin().(*os.File); ok && term.IsTerminal(int(in.Fd())) {
		first, err := typedSecretly(c, in, "Password: ")
		if err != nil {
			return "", err
		}
		again, err := typedSecretly(c, in, "The same again: ")
		if err == nil && first != again {
			err = errors.New("the two passwords differ; nothing was changed, start again")
		}
		return first, err
	}
	line, err := bufio.NewReader(io.LimitReader(c.InOrStdin(), 4096)).ReadString('\n')
	line = strings.TrimRight(line, "\r\n")
	if line == "" {
		return "", fmt.Errorf("no password came on standard input (%v): write it as one line, or use --no-password with add", err)
	}
	return line, nil
}

func typedSecretly(c *cobra.Command, in *os.File, ask string) (string, error) {
	fmt.Fprint(c.ErrOrStderr(), ask)
	b, err := term.ReadPassword(int(in.Fd()))
	fmt.Fprintln(c.ErrOrStderr())
	if err == nil && len(b) == 0 {
		err = errors.New("no password was typed; nothing was changed")
	}
	return string(b), err
}
