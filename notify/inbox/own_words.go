package inbox

import (
	"net/url"
	"regexp"
	"strings"
)

// quoting takes out of replies what they quote of our mails. The addresses in
// those let their reader act as the member: nobody else may be sent them.
type quoting struct {
	links     *regexp.Regexp // of ours, also broken over lines
	addresses *Addresses
	host      string
}

func newQuoting(public *url.URL, addresses *Addresses) quoting {
	host := regexp.QuoteMeta(public.Host)
	return quoting{
		links:     regexp.MustCompile(`(?i)(https?://)?` + host + `[^\s<>"]*(\s*\n[> \t]*[A-Za-z0-9_-]{16,}(?:\s|$))*`),
		addresses: addresses, host: strings.ToLower(public.Host),
	}
}

// Where what is quoted begins, in the words of mail programs.
var quotedBelow = []*regexp.Regexp{
	regexp.MustCompile(`(?m)^-{2,} ?(Original Message|Original-Nachricht|Ursprüngliche Nachricht|Originalnachricht|Forwarded message|Weitergeleitete Nachricht) ?-{2,}$`),
	regexp.MustCompile(`(?m)^_{20,}$`),
	regexp.MustCompile(`(?m)^(From|Von): .*\n(.*\n)?(Sent|Date|Gesendet|Datum): `),
	regexp.MustCompile(`(?m)^(On|Am) [^\n]{6,}(\n[^\n]*){0,3}(wrote|schrieb)[^\n]*:$`),
}

// ownWords is what a person wrote, without what is quoted of ours.
func (q quoting) ownWords(text string) string {
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	text = strings.ReplaceAll(text, "\u00a0", " ")
	lines := strings.Split(text, "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " \t")
	}
	text = strings.Join(lines, "\n")
	for _, begin := range quotedBelow {
		// What is quoted of others stays.
		if at := begin.FindStringIndex(text); at != nil && q.isOurs(text[at[0]:]) {
			text = text[:at[0]]
		}
	}
	var own []string
	for line := range strings.SplitSeq(text, "\n") {
		if !strings.HasPrefix(line, ">") {
			own = append(own, line)
		}
	}
	text = q.links.ReplaceAllString(strings.Join(own, "\n"), "[…]")
	text = q.addresses.find.ReplaceAllString(text, q.addresses.Plain())
	return strings.TrimSpace(blankLines.ReplaceAllString(text, "\n\n"))
}

var blankLines = regexp.MustCompile(`\n{3,}`)

func (q quoting) isOurs(text string) bool {
	return strings.Contains(strings.ToLower(text), q.host) || strings.Contains(strings.ToLower(text), q.addresses.Plain()) || q.addresses.find.MatchString(text)
}
