package notebook

import (
	"bytes"
	"errors"
	"os"
	"strings"
	"testing"

	"pryday/store/records"
	"pryday/store/sheet"
)

// Whatever a table holds, it is read, asked about or refused; what is read leaves a
// club that can be taken out and brought in, and comes in once.
func FuzzRead(f *testing.F) {
	for _, name := range []string{"windows.csv", "pasted.tsv", "boxes.csv"} {
		data, err := os.ReadFile("testdata/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add([]byte("hive;box;date;how hard;gaps\nLarch;R14;2025-05-01;2;above-frames 8 mm\n"))
	f.Add([]byte("box,position,kind,joint,frames\n,1,deep,2,\n"))
	f.Add([]byte("\tHive\t\n\t\x99\n\t\x94")) // names of signs alone
	f.Add([]byte("hive,part,paint,kind,date,how hard\nAsh,Brood,X,deep,2025-05-01,2\nAsh,Super 1,X,deep,2025-05-01,1\nAsh,Brood,,deep,,1\nLarch,top,,deep,2025-05-01,1\nAsh,,,deep,2025-06-01,1\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		book, err := sheet.Read(data)
		if err != nil {
			var refused *sheet.Refused
			if !errors.As(err, &refused) || refused.Error() == "" {
				t.Fatalf("no error that a person can act on: %v", err)
			}
			return
		}
		rows, c := book.Sheets[0].Rows, smallClub()
		choices := suggest(rows)
		choices.Apiary, choices.Lowest, choices.Upper, choices.Stack, choices.Above = "Orchard", "deep", "deep", BottomUp, Fill
		choices.Unmarked, choices.Order, choices.Units, choices.SetUp = LowestOf, DayFirst, "mm", someday
		before, _ := records.Encode(c)
		res := Read(rows, choices, c, 1, someday)
		after, err := records.Encode(c)
		if err != nil {
			t.Fatalf("cannot be written: %v", err)
		}
		if res.Asked.Open() || res.Openings+res.Boxes == 0 {
			if !bytes.Equal(before, after) {
				t.Fatal("the club was changed")
			}
			return
		}
		if _, err := records.Parse(after); err != nil {
			t.Fatalf("what came of it is refused: %v\n%s", err, after)
		}
		// A row that named its box alone was refused while there was none: it is there now.
		if again := Look(rows, choices, c, someday); again.Openings > len(res.Refused) || again.Boxes+again.Hives > 0 {
			t.Fatalf("a second time it comes to %s", sum(again))
		}
	})
}

func FuzzDay(f *testing.F) {
	for _, s := range []string{"3.4.2025", "03/04/2025", "Sa., 3. Apr 25", "April 3rd, 2025", "2025-04-03 10:00"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, ok := dayOf(s, someday)
		if ok && (got.day == 0 || got.other == got.day || !got.day.Recordable(got.day)) {
			t.Fatalf("%q is read as %+v", s, got)
		}
		if strings.TrimSpace(s) == "" && ok {
			t.Fatal("nothing is a day")
		}
	})
}
