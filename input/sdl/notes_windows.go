package sdl

// systemNotes are what the system does to every controller.
//
// Read, not tried: SDL 2.26's DirectInput driver sets the deadzone to 0 and the
// range to 16 bits, and leaves the system's calibration in place.
func systemNotes(virtual bool) []string {
	if virtual {
		return nil
	}
	return []string{"if this controller was calibrated in the system's own settings, that calibration is applied before any program sees the counts, and no program can switch it off; reset it there before you record"}
}
