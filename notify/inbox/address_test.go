package inbox

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pryday/store"
	_ "pryday/testdata/testrun"
)

func testKey() [][]byte { return [][]byte{[]byte("0123456789abcdef0123456789abcdef")} }

func anotherKey() [][]byte { return [][]byte{[]byte("another key, of thirty-two bytes")} }

// rotated is when testKey signed before.
func rotated() [][]byte { return append(anotherKey(), testKey()...) }

func testAddresses(t testing.TB) *Addresses {
	t.Helper()
	a, err := NewAddresses("bees@club.example", testKey)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestReplyAddressIsChecked(t *testing.T) {
	t.Parallel()
	for address, ok := range map[string]bool{
		"bees@club.example": true, "Bees@Club.example": true, "hive.tool_1-2@club.example": true, "bienen@imkerverein-süd.example": true,
		"": false, "bees": false, "bees@": false, "@club.example": false, "bees+x@club.example": false, "b ees@club.example": false,
		"Bees <bees@club.example>": false, "bees@club.example, more@club.example": false,
		"a-local-part-with-22-ch@club.example": false, "bees@-.example": false, "bees@club.example\n": false,
	} {
		if _, err := NewAddresses(address, testKey); (err == nil) != ok {
			t.Errorf("%q: %v", address, err)
		}
	}
}

// Every address reads back as what it was made of, in whatever case, fits into
// a local part (RFC 5321, 4.5.3.1.1), and is nobody's with one letter changed.
func TestSignedAddresses(t *testing.T) {
	t.Parallel()
	a := testAddresses(t)
	other, err := NewAddresses("bees@club.example", anotherKey)
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		want := Token{
			Purpose: rapid.SampledFrom(purposes[1:]).Draw(t, "purpose"), Club: rapid.Int64Range(1, 1<<28-1).Draw(t, "club"),
			Member: rapid.Int64Range(1, 1<<28-1).Draw(t, "member"), Message: rapid.Int64Range(0, 1<<28-1).Draw(t, "message"), To: "kay@keepers.test",
		}
		if want.Purpose != store.BounceMail {
			want.Ended = rapid.IntRange(0, 1000).Draw(t, "ended")
		}
		address := a.Signed(want)
		local, _, _ := strings.Cut(address, "@")
		if longest := len(local) - len("bees") + maxLocal; longest > 64 {
			t.Fatalf("%s: up to %d characters", local, longest)
		}
		for _, spelt := range []string{address, strings.ToUpper(address)} {
			got, ok := a.Read(spelt)
			if got.To = ""; !ok || got.Purpose != want.Purpose || got.Club != want.Club || got.Member != want.Member || got.Message != want.Message || got.Ended != want.Ended {
				t.Fatalf("%s reads as %+v, %t", spelt, got, ok)
			}
		}
		got, _ := a.Read(address)
		if bounce := want.Purpose == store.BounceMail; a.WentTo(got, "KAY@keepers.test") != bounce || a.WentTo(got, "lou@keepers.test") {
			t.Fatalf("went to %q", got.To)
		}
		at := rapid.IntRange(len("bees+"), len(local)-1).Draw(t, "at")
		letter := rapid.SampledFrom([]string{"a", "b", "q", "7"}).Draw(t, "letter")
		changed := address[:at] + letter + address[at+1:]
		if _, ok := a.Read(changed); ok && changed != address {
			t.Fatalf("%s is taken for %s", changed, address)
		}
		if _, ok := other.Read(address); ok {
			t.Fatal("another key made it")
		}
	})
}

func TestAddressesInText(t *testing.T) {
	t.Parallel()
	a := testAddresses(t)
	one := a.Signed(Token{Purpose: store.ReplyMail, Club: 1, Member: 2, Message: 3})
	two := a.Signed(Token{Purpose: store.BounceMail, Club: 1, Member: 2, Message: 3})
	text := `"Club" <` + strings.ToUpper(one) + ">, " + two + "," + one + " bees+aaaaaaaaaaaaaaaaaaaaaaaaaaaa@club.example bees@club.example x" + one + "x"
	if got := a.Find(text); len(got) != 2 || got[0] != one || got[1] != two {
		t.Errorf("found %q", got)
	}
	for _, bad := range []string{"", "@", "bees+@club.example", "bees+a@club.example", one + "x", "x" + one, "bees+" + strings.Repeat("a", 500) + "@club.example"} {
		if _, ok := a.Read(bad); ok {
			t.Errorf("%q is taken", bad)
		}
	}
}

func FuzzAddress(f *testing.F) {
	a := testAddresses(f)
	f.Add(a.Signed(Token{Purpose: store.ReplyMail, Club: 1, Member: 2, Message: 3}))
	f.Add("bees+aaaa@club.example")
	f.Fuzz(func(t *testing.T, s string) {
		token, ok := a.Read(s)
		if ok && !strings.EqualFold(a.Signed(token), s) && token.Purpose != store.BounceMail {
			t.Errorf("%q and %q are one address", s, a.Signed(token))
		}
		a.Find(s)
	})
}

func TestReplyAddressesOfARotatedKey(t *testing.T) {
	t.Parallel()
	was := Token{Purpose: store.BounceMail, Club: 1, Member: 2, Message: 3, To: "kay@keepers.test"}
	mailed := testAddresses(t).Signed(was)
	for name, c := range map[string]struct {
		keys func() [][]byte
		ok   bool
	}{"during the overlap": {rotated, true}, "after it": {anotherKey, false}} {
		a, err := NewAddresses("bees@club.example", c.keys)
		if err != nil {
			t.Fatal(err)
		}
		if got, ok := a.Read(mailed); ok != c.ok || ok && (got.Message != 3 || !a.WentTo(got, was.To) || a.WentTo(got, "another@keepers.test")) {
			t.Errorf("%s: %+v, %t", name, got, ok)
		}
		if _, ok := a.Read(a.Signed(was)); !ok {
			t.Errorf("%s: it does not know its own", name)
		}
	}
}
