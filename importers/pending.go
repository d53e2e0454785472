package importers

import (
	"context"
	"errors"
)

func looksNMEA([]headLine) bool { return false }

func (f *logFile) readSentences(context.Context, *input) error {
	return errors.New("NMEA 0183 sentences cannot be read")
}

func (f *logFile) readFixed(context.Context, *input) (bool, error) { return false, nil }

func (f *logFile) attitudeFromQuaternion() {}
