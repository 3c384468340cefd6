// Package devicetest checks, in a small emulated machine, what no test inside
// a process can: that the program works with real HID devices behind a real
// Linux kernel, and records what they sent, sample by sample.
//
// The development machines have no controllers, and their kernels cannot make
// any. So the test boots Debian's kernel in qemu, without anything else of
// Debian's in it: FetchKernel takes kernel and modules out of the package,
// Boot adds a first file system with the program guest, and the host's /usr is
// shared read-only, so that the program under test finds its libraries.
//
// Data passes like this:
//
//	test → guest (package wire: what to run) → feeder → /dev/uhid → kernel
//	    → evdev → SDL → halfstick → recording → test
//	feeder → what was sent, and when → test
//
// Expected says what the kernel's filter and SDL's scaling make of the reports
// that the feeder sent, and Follow holds a recording against it: each row must
// be the newest report that the kernel had when the row was read, unaltered,
// and one start of the recording must explain all rows. This does not depend
// on how fast the emulated machine runs, which is slow and uneven.
//
// Two machines run at once, and each test has one for itself: what it says of
// the devices that are there is then nobody else's. A machine in which a test
// failed is thrown away. Only the boot is ever tried again, never a comparison.
//
// The machine's tests have the build tag device and run with
//
//	go test -tags device -v -timeout 30m ./input/devicetest
//
// They need Debian's qemu-system-x86, udev, xz-utils, dpkg and apt, and once
// about 70 MB from Debian's archive, kept in the folder halfstick-device-test
// of the user's cache. Where these cannot be had the tests are skipped, or
// fail if CI=true is set.
//
// The numbers of Linux come from its version 6.1 and those of SDL from 2.26;
// each is named where it is used.
package devicetest
