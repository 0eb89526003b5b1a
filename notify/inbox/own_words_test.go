package inbox

import (
	"net/url"
	"strings"
	"testing"

	"pryday/store"
)

func testQuoting(t testing.TB) quoting {
	return newQuoting(&url.URL{Scheme: "https", Host: "bees.club.example"}, testAddresses(t))
}

func TestOwnWords(t *testing.T) {
	t.Parallel()
	q := testQuoting(t)
	signed := q.addresses.Signed(Token{Purpose: store.ReplyMail, Club: 1, Member: 2, Message: 3})
	const link = "https://bees.club.example/act/AQIDBAUGBwgJCgsMDQ4PEBESExQVFhcYGRobHB0eHyA"
	for name, tt := range map[string]struct{ text, want string }{
		"plain":             {"I can go.\n", "I can go."},
		"line ends":         {"a\r\nb\rc \n\n\n\nd", "a\nb\nc\n\nd"},
		"below an intro":    {"Yes!\n\nOn Mon, 3 May 2027 at 09:00, Bees <" + signed + "> wrote:\n\n> Orchard\n> " + link + "\n", "Yes!"},
		"an intro wrapped":  {"Yes!\n\nOn Mon, 3 May 2027 at 09:00, Hollow Lane Bees\n<" + signed + ">\nwrote:\n> x", "Yes!"},
		"German":            {"Ja.\n\nAm 03.05.27 um 09:00 schrieb Bees <" + signed + ">:\n> x", "Ja."},
		"not marked":        {"Yes.\n-----Original Message-----\nFrom: Bees\nOrchard\n" + link, "Yes."},
		"ruled off":         {"Yes.\n________________________________\nFrom: Bees <bees@club.example>\nSent: Monday\nOrchard " + link, "Yes."},
		"fields only":       {"Yes.\n\nFrom: Bees <bees@club.example>\nSent: Monday\nTo: Kay\nOrchard " + link, "Yes."},
		"between the lines": {"> Can you go?\nYes.\n> Bring oil?\nNo.", "Yes.\nNo."},
		"others' mail":      {"See below.\n-----Original Message-----\nFrom: Lou\nThe gate is stuck.", "See below.\n-----Original Message-----\nFrom: Lou\nThe gate is stuck."},
		"a link":            {"This one (" + link + ") does nothing.", "This one ([…] does nothing."},
		"a link, broken":    {"See https://bees.club.example/act/AQIDBAUGBwgJCgsM\nDQ4PEBESExQVFhcYGRobHB0eHyA\nand mend it", "See […]and mend it"},
		"an address":        {"I wrote to " + strings.ToUpper(signed) + " before", "I wrote to bees@club.example before"},
		"nothing of it own": {"> x\n> y", ""},
		"a wish":            {"On Saturday I would rather\nsleep. The wrote:\nend", "On Saturday I would rather\nsleep. The wrote:\nend"},
	} {
		if got := q.ownWords(tt.text); got != tt.want {
			t.Errorf("%s: %q, want %q", name, got, tt.want)
		}
	}
}

// Whatever somebody quotes, no whole address of ours is left in it.
func FuzzOwnWords(f *testing.F) {
	q := testQuoting(f)
	signed := q.addresses.Signed(Token{Purpose: store.ReplyMail, Club: 1, Member: 2, Message: 3})
	f.Add("On Monday we wrote:\n> https://bees.club.example/act/abc\n")
	f.Add("x " + signed + " https://bees.club.example/sign-in/xyz")
	f.Add("_____________________\nFrom: x\nSent: y")
	f.Fuzz(func(t *testing.T, text string) {
		got := q.ownWords(text + " " + signed + "\nhttps://bees.club.example/act/AQIDBAUGBwgJ")
		if strings.Contains(got, "/act/AQIDBAUGBwgJ") || len(q.addresses.Find(got)) > 0 {
			t.Errorf("left: %q", got)
		}
	})
}
