// Package export writes the channels of a hop on one clock for other programs, as CSV or
// as Parquet, so that any analysis library can take over.
//
// Two tables are offered. Without a rate, a table of samples: one row for each sample of
// each channel as it was logged, channel after channel, with the columns
//
//	channel, file, time_s, value
//
// With a rate, a table of times: one row for each time k/rate, a column time_s and a column
// for each channel; cells are empty where a channel has a gap or was not logged, and times
// at which all are empty are left out.
//
// Times are seconds on the hop clock. Names of channels carry their unit (roll_deg,
// roll_rate_deg_s, lateral_stick_percent); signs are those of package flight. Logs whose
// clock could not be put on the hop clock are left out, and named in Contents.LeftOut.
// Same hop and options, same bytes.
package export
