// Package wind says what the air did and how far it threw the aircraft.
//
// # Conventions
//
// Speeds are m/s. Directions are radians the wind blows FROM, clockwise from north,
// shown in [0, 2 pi). Wind north and wind east are the velocity of the air towards
// north and east, so a wind from the north has a negative wind north. The mean is the
// mean of the speed; the mean direction is that of unit vectors, so that strong gusts
// do not weigh more (WMO-No. 8, part I, chapter 5, leaves both open; the unit vector
// mean is the one whose spread Yamartino 1984 gives).
//
// Gust and lull are the highest and lowest 3 s running mean of the speed (WMO-No. 8,
// 5.8.3), spread is gust less lull, gust factor is gust over mean, turbulence intensity
// is the standard deviation over the mean.
//
// Intervals are 95 % and belong to the air, not to the record: they hold what another
// stretch of the same air would show in the long run. Neighbouring readings of wind are
// alike, so they count as fewer independent ones: see effective. Gust, lull, spread and
// gust factor are extremes of this record and carry no interval.
package wind
