package guitar

import "testing"

func BenchmarkBody(b *testing.B) {
	for b.Loop() {
		if _, _, err := Body(bases[0].Values); err != nil {
			b.Fatal(err)
		}
	}
}
