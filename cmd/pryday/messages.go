package main

import (
	"context"
	"fmt"
	"text/tabwriter"
	"time"

	"pryday/scheduler"
	"pryday/scheduler/text"
	"pryday/store"
)

type messagesCmd struct {
	State    string        `enum:"any,owed,sent,passed-over,refused,given-up" default:"any" help:"Only messages in this state: owed, sent, passed-over, refused or given-up."`
	Limit    int           `default:"50" help:"How many, the newest first, 1 to 1000."`
	Format   string        `enum:"text,json" default:"text" help:"text or json."`
	Club     string        `placeholder:"NAME" help:"The club, where the database holds several."`
	Database databaseFlags `embed:""`
}

type messageRow struct {
	On        scheduler.Date        `json:"on"`
	To        string                `json:"to"`
	Kind      scheduler.MessageKind `json:"kind"`
	State     store.MessageState    `json:"state"`
	Reason    string                `json:"reason"`
	Sent      *time.Time            `json:"sent,omitempty"`
	Attempts  int                   `json:"attempts"`
	Reply     string                `json:"reply,omitempty"`
	Returned  store.Return          `json:"returned,omitempty"`
	MessageID string                `json:"message_id"`
	why       string                // the reason in words
}

func (c *messagesCmd) Run(ctx context.Context, term *terminal) error {
	if c.Limit < 1 || c.Limit > 1000 {
		return outside("--limit", c.Limit, 1, 1000)
	}
	filter := store.MessageFilter{Limit: c.Limit}
	if c.State != "any" {
		filter.State = store.MessageState(c.State)
	}
	rows := []messageRow{}
	say := &term.say
	if c.Format == "json" {
		say = &text.Speaker{}
	}
	err := c.Database.inClub(ctx, term, c.Club, func(tx *store.Tx) error {
		messages, err := tx.Messages(ctx, filter)
		for i := range messages {
			m := &messages[i]
			row := messageRow{m.On, m.Address, m.Kind, m.State, m.Reason, nil, m.Attempts, say.Tell(m.ReplyText()), m.Returned, m.MessageID, say.Tell(m.ReasonText())}
			if m.Returned != "" {
				row.Reply = m.ReturnedReply
			}
			if !m.SentAt.IsZero() {
				row.Sent = &m.SentAt
			}
			rows = append(rows, row)
		}
		return err
	})
	if err != nil {
		return err
	}
	if c.Format == "json" {
		return writeJSON(term, rows)
	}
	if len(rows) == 0 {
		return term.tell("command.messages.none")
	}
	table := tabwriter.NewWriter(term.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, say.Say("command.messages.heads"))
	for _, m := range rows {
		state := say.Word(m.State)
		if m.Returned != "" {
			state += ", " + say.Word(m.Returned)
		}
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\t%s\t%s\n", m.On, m.To, say.Word(m.Kind), state, m.why, m.Reply)
	}
	return table.Flush()
}
