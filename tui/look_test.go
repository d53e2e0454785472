//go:build look

package tui

import (
	"context"
	"testing"
	"time"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// TestLook shows the screens with made-up hops, to be looked at:
// go test -c -tags look ./tui && ./tui.test -test.run Look
func TestLook(t *testing.T) {
	o := fakeOptions(30)
	o.Load = func(ctx context.Context, e flight.HopEntry, progress func(float64, string)) (*debrief.Debrief, error) {
		for i := range 10 {
			progress(float64(i)/10, "reading attitude.csv")
			time.Sleep(50 * time.Millisecond)
		}
		return fakeLoad(ctx, e, progress)
	}
	if err := Run(context.Background(), o); err != nil {
		t.Fatal(err)
	}
}
