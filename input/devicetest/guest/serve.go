//go:build linux

package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"time"

	"golang.org/x/sys/unix"

	"halfstick/input/devicetest/wire"
)

// server runs processes on request.
type server struct {
	port  *os.File
	speak sync.Mutex // one reply at a time

	lock    sync.Mutex
	running map[int]*process
}

// process is one that was started and has not ended.
type process struct {
	os    *os.Process
	input io.WriteCloser
}

// serve answers requests until the port fails.
func serve() error {
	port, err := openPort(wire.Port)
	if err != nil {
		return err
	}
	s := &server{port: port, running: map[int]*process{}}
	s.reply(wire.Reply{Is: wire.Ready})
	lines := bufio.NewReader(port)
	for {
		line, err := lines.ReadBytes('\n')
		if err != nil {
			return fmt.Errorf("the port to the test: %w", err)
		}
		var request wire.Request
		if err := json.Unmarshal(line, &request); err != nil {
			return fmt.Errorf("a request that is not JSON: %w", err)
		}
		err = s.do(request)
		switch {
		case err == nil:
		case request.Do == wire.Start:
			s.reply(wire.Reply{ID: request.ID, Is: wire.Failed, Text: err.Error()})
		default:
			// A process may end while a signal is on its way to it.
			fmt.Fprintln(os.Stderr, "guest:", request.Do, err)
		}
	}
}

// openPort finds the virtio-serial port with a name.
func openPort(name string) (*os.File, error) {
	deadline := time.Now().Add(10 * time.Second)
	for time.Now().Before(deadline) {
		files, _ := filepath.Glob("/sys/class/virtio-ports/*/name")
		for _, file := range files {
			found, err := os.ReadFile(file)
			if err == nil && strings.TrimSpace(string(found)) == name {
				device := filepath.Join("/dev", filepath.Base(filepath.Dir(file)))
				return os.OpenFile(device, os.O_RDWR, 0)
			}
		}
		time.Sleep(10 * time.Millisecond)
	}
	return nil, fmt.Errorf("there is no virtio-serial port %s", name)
}

func (s *server) reply(r wire.Reply) {
	line, err := json.Marshal(r)
	if err != nil {
		panic(err) // strings and numbers always have a JSON form
	}
	s.speak.Lock()
	defer s.speak.Unlock()
	if _, err := s.port.Write(append(line, '\n')); err != nil {
		fmt.Fprintln(os.Stderr, "guest: reply:", err)
	}
}

func (s *server) do(r wire.Request) error {
	if r.Do == wire.Start {
		return s.start(r)
	}
	s.lock.Lock()
	p := s.running[r.ID]
	s.lock.Unlock()
	if p == nil {
		return errors.New("that process has ended")
	}
	switch r.Do {
	case wire.Signal:
		return p.os.Signal(syscall.Signal(r.Number))
	case wire.Input:
		_, err := io.WriteString(p.input, r.Text)
		return err
	case wire.EndInput:
		return p.input.Close()
	}
	return fmt.Errorf("nobody knows how to %q", r.Do)
}

// start runs a process whose output goes to ID.out and ID.err in the shared
// folder, both to ID.out on a terminal.
func (s *server) start(r wire.Request) error {
	if len(r.Args) == 0 {
		return errors.New("no command")
	}
	command := exec.Command(r.Args[0], r.Args[1:]...)
	command.Env = append(os.Environ(), r.Env...)
	command.Dir = wire.ShareDir
	stdout, err := os.Create(filepath.Join(wire.ShareDir, fmt.Sprintf("%d.out", r.ID)))
	if err != nil {
		return err
	}
	p := &process{}
	var after func()
	if r.TTY {
		p.input, after, err = onTerminal(command, stdout)
	} else {
		p.input, after, err = onPipes(command, stdout, r.ID)
	}
	if err != nil {
		return err
	}
	if err := command.Start(); err != nil {
		return err
	}
	p.os = command.Process
	s.lock.Lock()
	s.running[r.ID] = p
	s.lock.Unlock()
	go func() {
		_ = command.Wait()
		after()
		s.lock.Lock()
		delete(s.running, r.ID)
		s.lock.Unlock()
		s.reply(exitOf(r.ID, command.ProcessState))
	}()
	return nil
}

func exitOf(id int, state *os.ProcessState) wire.Reply {
	reply := wire.Reply{ID: id, Is: wire.Exited, Status: state.ExitCode()}
	if how, ok := state.Sys().(syscall.WaitStatus); ok && how.Signaled() {
		reply.Number = int(how.Signal())
	}
	return reply
}

func onPipes(command *exec.Cmd, stdout *os.File, id int) (io.WriteCloser, func(), error) {
	stderr, err := os.Create(filepath.Join(wire.ShareDir, fmt.Sprintf("%d.err", id)))
	if err != nil {
		return nil, nil, err
	}
	command.Stdout, command.Stderr = stdout, stderr
	// A pipe of our own, not StdinPipe: Wait must not close it under a writer.
	from, to, err := os.Pipe()
	if err != nil {
		return nil, nil, err
	}
	command.Stdin = from
	return to, func() {
		for _, file := range []*os.File{from, to, stdout, stderr} {
			_ = file.Close()
		}
	}, nil
}

// onTerminal gives the command a pseudo-terminal (pty(7)) as its controlling
// terminal and copies what it shows to stdout.
func onTerminal(command *exec.Cmd, stdout *os.File) (io.WriteCloser, func(), error) {
	master, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		return nil, nil, err
	}
	number, err := unix.IoctlGetInt(int(master.Fd()), unix.TIOCGPTN)
	if err != nil {
		return nil, nil, err
	}
	if err := unix.IoctlSetPointerInt(int(master.Fd()), unix.TIOCSPTLCK, 0); err != nil {
		return nil, nil, err
	}
	slave, err := os.OpenFile(fmt.Sprintf("/dev/pts/%d", number), os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		return nil, nil, err
	}
	size := &unix.Winsize{Row: 40, Col: 100}
	if err := unix.IoctlSetWinsize(int(master.Fd()), unix.TIOCSWINSZ, size); err != nil {
		return nil, nil, err
	}
	command.Stdin, command.Stdout, command.Stderr = slave, slave, slave
	command.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	shown := make(chan struct{})
	go func() {
		defer close(shown)
		// Ends with EIO when the last process closes the terminal.
		_, _ = io.Copy(stdout, master)
	}()
	return master, func() {
		_ = slave.Close()
		<-shown
		_ = master.Close()
		_ = stdout.Close()
	}, nil
}
