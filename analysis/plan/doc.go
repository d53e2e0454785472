// Package plan makes the card before the hop: what to fly, how often and how large, so that
// the delay from stick to answer comes out as exactly as wished, inside the limits of the
// aircraft; and it says afterwards what of that was flown.
//
// What is known of the aircraft comes, in this order, from earlier hops of the configuration,
// from the rotor model if its dimensions are given, or is assumed; each number says which.
// Numbers are SI inside. Stick is a fraction of the travel from the middle to a stop.
package plan
