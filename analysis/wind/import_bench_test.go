package wind_test

import (
	"context"
	"testing"
	"time"

	"hopcard/analysis/simulate"
	"hopcard/analysis/wind"
	"hopcard/flight"
	"hopcard/importers"
)

// tenMinutes writes ten minutes of hover in gusts as three loggers on UTC, attitude and
// stick at 50 Hz and wind at 4 Hz.
func tenMinutes(b *testing.B, dir string) *simulate.Flight {
	f := simulate.Fly(simulate.Scenario{
		Name: "gusty", Seed: 11, Head: simulate.BarHead("bar", 1.5), Pilot: simulate.BarPilot(),
		Sensors: simulate.UsualSensors(), Trim: simulate.UsualTrim(), HeadingRad: 1.2,
		StartedAt: time.Date(2031, 5, 10, 9, 0, 0, 0, time.UTC),
		Air:       simulate.Air{Mean: simulate.Constant(5), DirectionFrom: simulate.Constant(1.4), Gusts: 6},
		Legs:      simulate.Whole(false, simulate.Leg{Kind: simulate.Hover, LengthS: 540}),
	})
	utc := simulate.TimeDress{Name: "utc", Form: simulate.ISO, Decimals: 3}
	column := func(name string, q flight.Quantity, u flight.Unit, decimals int) simulate.ColumnDress {
		return simulate.ColumnDress{Name: name, Quantity: q, Unit: u, Decimals: decimals}
	}
	err := f.Write(dir, simulate.Dress{Files: []simulate.FileDress{
		{Name: "attitude.csv", RateHz: 50, Time: utc, Columns: []simulate.ColumnDress{
			column("roll_deg", flight.Roll, flight.Deg, 2), column("pitch_deg", flight.Pitch, flight.Deg, 2),
			column("heading_deg", flight.Heading, flight.Deg, 2), column("p_deg_s", flight.RollRate, flight.DegPerS, 2),
			column("q_deg_s", flight.PitchRate, flight.DegPerS, 2), column("r_deg_s", flight.YawRate, flight.DegPerS, 2),
		}},
		{Name: "stick.csv", RateHz: 50, Time: utc, Columns: []simulate.ColumnDress{
			column("stick_lon_percent", flight.LonStick, flight.Percent, 1), column("stick_lat_percent", flight.LatStick, flight.Percent, 1),
		}},
		{Name: "mast.csv", RateHz: 4, Time: utc, Columns: []simulate.ColumnDress{
			column("wind_speed_m_s", flight.WindSpeed, flight.MPerS, 2), column("wind_direction_deg", flight.WindDirectionFrom, flight.Deg, 0),
		}},
	}})
	if err != nil {
		b.Fatal(err)
	}
	return f
}

// BenchmarkAgainstImport reports what the wind part costs beside the import of the logs
// it needs, in the same run. The metric analyse/import should not pass one; it was
// 0.93 to 0.98 on two cores of an AMD EPYC, the search for the lead of the anemometer included.
func BenchmarkAgainstImport(b *testing.B) {
	dir := b.TempDir()
	f := tenMinutes(b, dir)
	ctx := context.Background()
	var importing, analysing time.Duration
	for b.Loop() {
		start := time.Now()
		h, err := importers.ReadHop(ctx, dir, importers.Options{})
		if err != nil {
			b.Fatal(err)
		}
		importing += time.Since(start)
		start = time.Now()
		r, err := wind.Analyse(ctx, h, f.Truth.Flight, wind.Settings{})
		if err != nil {
			b.Fatal(err)
		}
		analysing += time.Since(start)
		if len(r.Gusts) == 0 || r.Gusts[2].RadPerMS == nil {
			b.Fatal("no answer to gusts")
		}
	}
	b.ReportMetric(analysing.Seconds()/importing.Seconds(), "analyse/import")
}
