package process

import "testing"

func BenchmarkOutlook(b *testing.B) {
	s := c41Developer(b)
	d, _ := Builtin().Developer("tmx-xtol-135")
	s = s.With(d)
	st := FilmInBath{SoFar: Within(100, 2), Bath: Within(36, 0.1), Cooling: &DefaultCooling, Toward: Within(21, 3), EndsS: 95, CounterStands: true, ReactS: 20}
	for b.Loop() {
		if _, ok := s.Outlook(st); !ok {
			b.Fatal("no outlook")
		}
	}
}

func BenchmarkEquivalent(b *testing.B) {
	s := c41Developer(b)
	for b.Loop() {
		s.EquivalentWithin(37.7, 37.9, 5, 0.1)
	}
}
