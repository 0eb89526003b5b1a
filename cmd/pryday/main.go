// Command pryday keeps a club's apiary records, works out when each box must
// next be opened, and tells the people who go.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	"time"
	_ "time/tzdata" // zones must be known where the machine has no zone files

	"github.com/alecthomas/kong"

	"pryday/scheduler/text"
	"pryday/store"
)

// commandLine is every command with its flags. Kong makes the help of it.
type commandLine struct {
	Demo     demoCmd     `cmd:"" help:"Run an invented club on this machine, with pages, feeds and mail into a folder."`
	Serve    serveCmd    `cmd:"" help:"Run the daemon."`
	Plan     planCmd     `cmd:"" help:"Print the visits to come and when each box must be opened, with reasons."`
	Season   seasonCmd   `cmd:"" help:"Print when the stages of the bees' year start at a place."`
	Simulate simulateCmd `cmd:"" help:"Score the planner against fixed calendars on made-up clubs."`
	Import   importCmd   `cmd:"" help:"Read a club's records from a JSON document, or openings from CSV."`
	Export   exportCmd   `cmd:"" help:"Write a club's records as one JSON document, or its openings as CSV."`
	Backup   backupCmd   `cmd:"" help:"Write all that the service remembers to one file, while it runs."`
	Restore  restoreCmd  `cmd:"" help:"Bring a backup back, into a state directory or database without records."`
	Upgrade  upgradeCmd  `cmd:"" name:"upgrade-database" help:"Take the private PostgreSQL to the newest version that is installed."`
	Migrate  migrateCmd  `cmd:"" help:"Bring the database's schema up to this program's."`
	Club     clubCmd     `cmd:"" help:"List, rename and remove clubs."`
	Person   personCmd   `cmd:"" help:"Erase a person, or print what is kept about one."`
	Member   memberCmd   `cmd:"" help:"List, add and remove members."`
	Link     linkCmd     `cmd:"" help:"Make, list and revoke calendar addresses."`
	Rules    rulesCmd    `cmd:"" help:"Check, show and apply the rules by which dates are made."`
	Keys     keysCmd     `cmd:"" help:"Make new signing keys, or list them."`
	Audit    auditCmd    `cmd:"" help:"Check that nobody changed the trail of changes."`
	Messages messagesCmd `cmd:"" help:"List the messages that were owed and what became of them."`
	Mail     mailCmd     `cmd:"" help:"Try the mail server, and preview the mails of a day."`

	Version kong.VersionFlag `help:"Print the version and end."`
}

// terminal is where a command reads and writes; tests give it buffers.
type terminal struct {
	in       io.Reader
	out, err io.Writer
	now      func() time.Time
	say      text.Speaker                   // in the language of whoever types
	setenv   func(name, value string) error // of this program; nil where several share one
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	term := &terminal{in: os.Stdin, out: os.Stdout, err: os.Stderr, now: time.Now, say: *text.In(locale(os.Getenv), ""), setenv: os.Setenv}
	os.Exit(run(ctx, os.Args[1:], term))
}

// run runs one command line and returns the exit status: 0 when done, 1 when
// the command failed, 2 when the line itself is wrong.
func run(ctx context.Context, args []string, term *terminal) int {
	ctx = store.WithOrigin(ctx, store.Origin{Command: whoTypes()})
	var cli commandLine
	exited := -1
	parser, err := kong.New(&cli,
		kong.Name("pryday"),
		kong.Description("When must each hive box next be opened, and who is going?"),
		kong.WithHyphenPrefixedParameters(true), // a southern latitude begins with a minus
		kong.Writers(term.out, term.err),
		kong.Exit(func(code int) { exited = code }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, FlagsLast: true}),
		kong.Vars{"version": versionLine(thisBuild())},
		kong.BindTo(ctx, (*context.Context)(nil)),
		kong.Bind(term),
	)
	if err != nil {
		fmt.Fprintln(term.err, "pryday:", err)
		return 2
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	line, err := parser.Parse(args)
	if exited >= 0 {
		return exited
	}
	if err != nil {
		fmt.Fprintf(term.err, "pryday: %v\n%s\n", err, term.say.Say("command.try-help"))
		return 2
	}
	if err := line.Run(); err != nil {
		if errors.Is(err, context.Canceled) && ctx.Err() != nil {
			return 0
		}
		fmt.Fprintln(term.err, "pryday:", term.told(err))
		return 1
	}
	return 0
}
