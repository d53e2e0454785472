// Package response finds how the aircraft answers the stick: delay, lag, frequency response, bandwidth.
package response
