package segment

import (
	"math"
	"testing"

	"hopcard/flight"
)

// chirp is a logarithmic sweep of the stick from w0 to w1 rad/s in [fromS, toS).
func chirp(t, fromS, toS, w0, w1, size float64) float64 {
	if t < fromS || t >= toS {
		return 0
	}
	length, ratio := toS-fromS, w1/w0
	return size * math.Sin(w0*length/math.Log(ratio)*(math.Pow(ratio, (t-fromS)/length)-1))
}

// linearChirp is chirp with a frequency that rises along a straight line.
func linearChirp(t, fromS, toS, w0, w1, size float64) float64 {
	if t < fromS || t >= toS {
		return 0
	}
	u := t - fromS
	return size * math.Sin(w0*u+(w1-w0)/(toS-fromS)*u*u/2)
}

// work is a pilot busy at several frequencies at once, with a standard deviation of 0.024.
func work(t float64) float64 {
	sum := 0.0
	for i, w := range []float64{0.31, 0.53, 0.83, 1.37, 2.11, 2.9} {
		sum += 0.014 * math.Sin(w*t+float64(i*i))
	}
	return sum
}

func TestSweepsInThePilotsWork(t *testing.T) {
	for _, c := range []struct {
		name   string
		stick  func(t float64) float64
		lateS  float64 // how late the start may be found
		earlyS float64
		want   int
	}{
		{"alone", func(t float64) float64 { return chirp(t, 40, 80, 0.4, 12, 0.08) }, 0.3, 0.3, 1},
		{"amid work", func(t float64) float64 { return work(t) + chirp(t, 40, 80, 0.4, 12, 0.08) }, 2, 2, 1},
		{"linear", func(t float64) float64 { return work(t) + linearChirp(t, 40, 80, 0.6, 10, 0.08) }, 2, 2, 1},
		{"falling", func(t float64) float64 { return work(t) + chirp(t, 40, 80, 12, 0.6, 0.08) }, 1.5, 1.5, 1},
		{"steady tone", func(t float64) float64 { return work(t) + chirp(t, 40, 80, 3, 3.0001, 0.08) }, 0, 0, 0},
		{"work", work, 0, 0, 0},
		{"doublets", doublets, 0, 0, 0},
		{"growing", func(t float64) float64 {
			if t < 40 || t > 52 {
				return work(t)
			}
			return work(t) + 0.01*math.Exp(0.3*(t-40))*math.Sin(4*t)
		}, 0, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := bench(50, 120, groundNoise, map[flight.Quantity]func(float64) float64{
				flight.Roll: hovering, flight.Pitch: hovering, flight.LatStick: c.stick,
			})
			segs, _ := Find(h)
			got := Inputs(segs, flight.RollAxis, flight.Sweep)
			if len(got) != c.want {
				t.Fatalf("sweeps %v, want %d", got, c.want)
			}
			for _, s := range got {
				// A falling sweep ends in slow strokes, which lie in the work like slow first ones.
				endS := 1.0
				if c.name == "falling" {
					endS = 4 // it is broken off in mid-stroke, and whole strokes are looked for
				}
				if s.FromS < 40-c.earlyS || s.FromS > 40+c.lateS || math.Abs(s.ToS-80) > endS {
					t.Errorf("sweep %v, want 40 to 80", s)
				}
			}
		})
	}
}

// TestAmplitudeIsExact: a tone comes back with its own amplitude, a constant with none.
func TestAmplitudeIsExact(t *testing.T) {
	const stepS, tol = 0.06, 0.01
	for _, j := range []int{0, 5, 12, 18} {
		w := ridgeOmega(j)
		x := make([]float64, 2000)
		for i := range x {
			x[i] = 0.3 + 0.05*math.Sin(w*float64(i)*stepS+1)
		}
		if a := amplitudes(x, stepS, w, 240)[120]; math.Abs(a-0.05) > tol*0.05 {
			t.Errorf("%.2f rad/s: amplitude %.5f, want 0.05", w, a)
		}
	}
}
