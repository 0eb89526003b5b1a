package main

import (
	"errors"
	"fmt"

	"pryday/scheduler/text"
)

// complaint is what a command could not do, in the language of whoever typed
// it. It wraps the errors among what it says.
type complaint struct {
	says    text.Text
	because []error
}

// complain makes a complaint of a text.
func complain(key string, args ...any) error {
	c := &complaint{says: text.New(key)}
	for _, a := range args {
		if err, ok := a.(error); ok {
			c.because = append(c.because, err)
			a = textOf(err)
		}
		c.says.Args = append(c.says.Args, a)
	}
	return c
}

// textOf says an error: in every language when it is one of ours.
func textOf(err error) any {
	switch err := err.(type) {
	case *complaint:
		return err.says
	case interface{ Text() text.Text }:
		return err.Text()
	}
	return err.Error()
}

// outside complains of a flag that must lie between two numbers.
func outside(flag string, value, least, most int) error {
	return complain("command.error.between", flag, fmt.Sprint(value), fmt.Sprint(least), fmt.Sprint(most))
}

// Error says the complaint in English.
func (c *complaint) Error() string { return (&text.Speaker{}).Tell(c.says) }

// Unwrap returns the errors that it speaks of.
func (c *complaint) Unwrap() []error { return c.because }

// told says an error in the language of whoever typed, as far as it is ours.
func (t *terminal) told(err error) string {
	var c *complaint
	if errors.As(err, &c) && c.Error() == err.Error() {
		return t.say.Tell(c.says)
	}
	return err.Error()
}

// tell prints a text in a line of its own.
func (t *terminal) tell(key string, args ...any) error {
	_, err := fmt.Fprintln(t.out, t.say.Say(key, args...))
	return err
}

// weekdayOf is a day with its short weekday, for lists.
func weekdayOf(d text.Day) text.Text { return text.New("command.day", text.Weekday(d), d) }
