package importers

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// readBytes reads data as a log of that name and checks what any hop must fulfil.
func readBytes(t *testing.T, name string, data []byte) {
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	h, err := ReadHop(context.Background(), path, Options{})
	if err != nil {
		if strings.ContainsAny(strings.ReplaceAll(err.Error(), "\\n", ""), "\n\r") {
			t.Fatalf("error of more than one line: %q", err)
		}
		return
	}
	checkHop(t, h)
}

func FuzzReadLog(f *testing.F) {
	for _, s := range []string{
		"time_s,roll_deg,stick_lat\n0,1,2\n0.02,1,3\n0.04,2,4\n",
		"time;roll;p\ns;deg;deg/s\n0,00;1,5;2\n0,02;1,5;2\n",
		"\"t\nms\",\"roll\"\r\n\"0\",1\r\n20,2\r\n",
		"# time_ms\troll\n0\t1\n20\t2\n10\t3\n0\t4\n20\t5\n",
		"date time roll_deg\n2031-07-19 06:10:30.0 1\n2031-07-19 06:10:30.1 2\n",
		"time_us,acc_x,acc_y,acc_z\n4294967290,0,0,9.8\n4,0,0,9.8\n24,nan,,inf\n",
		"\xff\xfet\x00,\x00r\x00o\x00l\x00l\x00\n\x000\x00,\x001\x00\n\x00",
		"time_s,qw,qx,qy,qz\n0,1,0,0,0\n1,1,0,0,0\n",
		"time,roll\n0,1\ntime,roll\n0,\"2\n1,3",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) { readBytes(t, "a.csv", data) })
}

func FuzzReadSentences(f *testing.F) {
	f.Add([]byte("$GPZDA,061030.00,19,07,2031,00,00*6B\n$WIMWD,211.2,T,205.4,M,3.9,N,2.0,M*51\n"))
	f.Add([]byte("1.0 $WIMWV,041.1,R,01.0,N,A*16\n2.0 $WIMWV,,T,,N,V*32\n3.0 $WIMWV,041.1,R,01.0,N,A*16\n"))
	f.Add([]byte("06:10:30;$WIMWV,12.1,T,10.1,N,A*27\n06:10:31;$WIMWD,,,,,,,,*00\n$GPRMC,,,,*00\n"))
	f.Fuzz(func(t *testing.T, data []byte) { readBytes(t, "wind.nmea", data) })
}

func FuzzReadNotes(f *testing.F) {
	f.Add([]byte("time, mean, gust, direction\n06:10:05, 6 kt, 9 kt, SW\n06:11, 3, , 210\n"))
	f.Add([]byte("time;event\n12,5;doublet\n3;lift-off\n"))
	f.Add([]byte("time,text\n2031-07-19 06:10,\"a, b\"\n"))
	f.Fuzz(func(t *testing.T, data []byte) { readBytes(t, "notes.csv", data) })
}
