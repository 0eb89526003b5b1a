package text

import "testing"

// What speaking the first sentence of a language costs, once in a process.
func BenchmarkReadLanguage(b *testing.B) {
	for _, tag := range []string{"en", "de", "en-GB"} {
		b.Run(tag, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := readTongue(tag); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkSay(b *testing.B) {
	s := In("de", "")
	b.Run("plain", func(b *testing.B) {
		for b.Loop() {
			s.Say("caution.tools")
		}
	})
	b.Run("plural", func(b *testing.B) {
		for b.Loop() {
			s.Say("visit.open", 3, "Orchard")
		}
	})
	b.Run("speaker", func(b *testing.B) {
		for b.Loop() {
			In("de-CH", Inches)
		}
	})
}
