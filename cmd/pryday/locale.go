package main

import "strings"

// locale returns the BCP 47 tag of the language that the environment asks
// messages to be in, by POSIX's order; empty for the C locale and for none.
func locale(getenv func(string) string) string {
	for _, name := range []string{"LC_ALL", "LC_MESSAGES", "LANG"} {
		if v := getenv(name); v != "" {
			v, _, _ = strings.Cut(v, ".") // the encoding
			v, _, _ = strings.Cut(v, "@") // a variant, as of a currency
			if v == "C" || v == "POSIX" {
				return ""
			}
			return strings.ReplaceAll(v, "_", "-")
		}
	}
	return ""
}
