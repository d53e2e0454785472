// Package flight says what a hop is: channels on their own time stamps, the
// loggers they came from, segments, findings, marks, the configuration that was
// flown and the logbook folder that holds it all. It reads the two settings files
// aircraft.toml and hop.toml and imports nothing else of this project.
//
// # Conventions
//
// Axes: x forward, y right, z down. Roll is positive right wing down, pitch
// positive nose up, yaw positive nose right. Lateral stick is positive to the
// right, longitudinal stick positive aft (nose up), pedal positive nose right,
// collective positive up, so that a plain aircraft has positive gain in each axis.
// Acceleration is specific force: at rest, upright, z reads minus one g.
//
// Units: SI inside. Angles are radians, rates rad/s, stick positions fractions of
// full travel (1 is the stop, 0.01 is one percent), rotor speed rad/s, wind m/s,
// wind direction radians the wind blows FROM clockwise from north. A float64 that
// is not SI carries its unit as a suffix of its name.
//
// Time: seconds on the hop clock, zero at the first sample of the attitude log.
package flight
