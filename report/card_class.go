package report

import (
	"fmt"

	"hopcard/analysis/wind"
	"hopcard/flight"
)

// cardClasses are the tables of the hop by class of air: what the air asked of pilot and
// aircraft, and, if there were several classes, how far gusts threw it in each.
func cardClasses(p *page, classes []wind.ClassRow) {
	rows := classRows(classes)
	if len(rows) < 2 {
		return
	}
	p.blank()
	p.table(rows)
	p.blank()
	meaning := classMeaning()
	// With one class the answers of the whole flight are its own.
	if rows := answerRows(classes); len(classes) > 1 && len(rows) > 1 {
		p.table(rows)
		p.blank()
		meaning += " The other table: the answer to gusts with the stick held, deg per m/s, each class from its own seconds."
	}
	p.note(meaning)
}

func classMeaning() string {
	return "By class of air: growing swings that began in it; rms of attitude and rate about each phase's mean, without interval; stick rms in percent of full travel; turns: reversals of the stick each minute; left: the least that was left to a stop."
}

// classRows has a row for each class of air and axis.
func classRows(classes []wind.ClassRow) [][]string {
	rows := [][]string{{"air", "s", "m/s", "flags", "axis", "deg rms", "deg/s rms", "stick %", "turns", "left %"}}
	for _, c := range classes {
		for i, m := range c.Motion {
			row := []string{"", "", "", "", string(m.Axis), figure(m.AttitudeRMS*degPerRad, 2), figure(m.RateRMS*degPerRad, 2)}
			if i == 0 {
				row[0], row[1], row[2], row[3] = string(c.Class), figure(c.TimeS, 0), figure(c.MeanMS, 1), flagNumber(c.Flags)
			}
			for _, w := range c.Work {
				if w.Axis == m.Axis {
					row = append(row, figure(100*w.RMS, 1), figure(w.ReversalsPerMin, 0), figure(100*w.LeftFraction, 0))
				}
			}
			rows = append(rows, row)
		}
	}
	return rows
}

// flagNumber is a number of flags, a dash if it is not known.
func flagNumber(n int) string {
	if n < 0 {
		return "-"
	}
	return fmt.Sprint(n)
}

// answerRows has a row for each axis and band, and a column for each class of air that has
// an answer.
func answerRows(classes []wind.ClassRow) [][]string {
	rows := [][]string{{"gusts, rad/s"}}
	type place struct {
		axis flight.Axis
		band [2]float64
	}
	at := map[place]int{}
	for _, c := range classes {
		told := false
		for _, a := range c.Answers {
			told = told || a.RadPerMS != nil
		}
		if !told {
			continue
		}
		rows[0] = append(rows[0], string(c.Class))
		for _, a := range c.Answers {
			if a.RadPerMS == nil {
				continue
			}
			k := place{a.Axis, a.BandRadS}
			if at[k] == 0 {
				at[k] = len(rows)
				rows = append(rows, []string{fmt.Sprintf("%s, %s to %s", a.Axis, significant(a.BandRadS[0], 2), significant(a.BandRadS[1], 2))})
			}
			row := &rows[at[k]]
			for len(*row) < len(rows[0])-1 {
				*row = append(*row, notMeasured)
			}
			*row = append(*row, tableCell(a.RadPerMS, degPerRad, "deg per m/s"))
		}
	}
	for i := range rows[1:] {
		for row := &rows[1+i]; len(*row) < len(rows[0]); {
			*row = append(*row, notMeasured)
		}
	}
	return rows
}

// figure words a plain number in a table, a dash if there is none.
func figure(x float64, decimals int) string {
	if !finite(x) {
		return "-"
	}
	return fixed(x, decimals)
}
