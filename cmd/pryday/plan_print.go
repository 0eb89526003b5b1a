package main

import (
	"fmt"
	"text/tabwriter"

	"pryday/scheduler"
	"pryday/scheduler/text"
)

// print prints the visits, each with its boxes, and then why each box is due.
func (r *planReport) print(term *terminal) error {
	out := term.out
	if len(r.Visits) == 0 {
		term.tell("command.plan.nothing")
	}
	for _, v := range r.Visits {
		fmt.Fprintf(out, "%s  %s, %s", term.say.Terse(0).Tell(weekdayOf(v.On)), v.Apiary, term.say.Word(v.Status))
		if v.going != "" {
			fmt.Fprintf(out, ", %s", v.going)
		}
		fmt.Fprintf(out, ", %s\n    %s\n", term.say.Say("command.plan.hours", digits(v.Hours, 1)), v.Why)
		if err := v.printBoxes(term); err != nil {
			return err
		}
	}
	fmt.Fprintln(out)
	for _, b := range r.Boxes {
		if b.later {
			continue
		}
		fmt.Fprintf(out, "%s: %s\n", b.Apiary, b.Why)
		if b.sure != "" {
			fmt.Fprintf(out, "    %s\n", b.sure)
		}
	}
	for _, n := range r.Notes {
		if _, err := fmt.Fprintf(out, "\n%s: %s.\n", n.Apiary, n.Note); err != nil {
			return err
		}
	}
	return nil
}

// printBoxes prints the boxes of a visit as a table, from the top of each stack
// down, as hands come to them.
func (v *visitRow) printBoxes(term *terminal) error {
	if len(v.Boxes) == 0 {
		return nil
	}
	say := term.say.Terse(v.On.Year())
	table := tabwriter.NewWriter(term.out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(table, "    %s\n", say.Say("command.plan.heads"))
	for _, b := range v.Boxes {
		fmt.Fprintf(table, "    %s\n", say.Say("command.plan.box", b.Hive, b.Box, b.Due, padded(100*b.Odds), padded(100*b.Stuck), reasonInShort(b.Reason)))
	}
	return table.Flush()
}

// padded is a percentage with room for three digits, so that they stand below one another.
func padded(percent float64) string { return fmt.Sprintf("%3.0f", percent) }

// reasonInShort names a reason in a few words, for lists.
func reasonInShort(r scheduler.Reason) text.Text { return text.New("command.plan." + string(r)) }
