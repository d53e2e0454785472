// Package wind says what the air did and how far it threw the aircraft.
package wind
