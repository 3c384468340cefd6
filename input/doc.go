// Package input holds what comes from the hands: devices and their axes,
// samples, and recordings in memory and on disk.
//
// Data passes one way. A Source hands over the newest state of every axis;
// Record asks it at an even rate and gives each Row to a RowWriter, which is
// either a Writer (the recording file, growing on disk) or a Collector (a
// Recording in memory). Read and Open turn the file back into a Recording,
// which is what the fit packages measure.
//
// The sources themselves live below this package, so that it builds without
// cgo and the rest of the project runs on recordings alone.
//
// # The file
//
// A recording is UTF-8 text: the line "# halfstick recording 1", a line with
// the header as JSON behind "# ", a line of column names, and RFC 4180 rows
//
//	t_us,phase,pedals.rudder,pedals.left-brake
//	0,rest,112,-32768
//
// with t_us in microseconds since the start, strictly rising, and counts in
// −32768…32767, empty while a device is absent. The reader is strict: whatever
// breaks the format is one *FileError with file, line (or JSON path), what was
// expected and found, and what to do. Header fields, comment lines and columns
// that it does not know are kept and written back. A file that ends in the
// middle of a row, as after a power cut, is read up to its last whole row.
//
// There is no mathematics here beyond the percentiles of a Histogram of
// intervals, which are by nearest rank.
package input
