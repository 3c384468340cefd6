package devicetest

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"halfstick/input/devicetest/wire"
)

// agent is the host's end of the conversation with the guest program.
type agent struct {
	listener net.Listener
	share    string
	ready    chan struct{}

	lock      sync.Mutex
	port      net.Conn
	last      int // the newest process's id
	processes map[int]*Process
	gone      error // why no more replies will come
}

// newAgent waits for one connection on listener and listens to it.
func newAgent(listener net.Listener, share string) *agent {
	a := &agent{listener: listener, share: share, ready: make(chan struct{}), processes: map[int]*Process{}}
	go a.listen()
	return a
}

func (a *agent) listen() {
	port, err := a.listener.Accept()
	if err != nil {
		a.stop(err)
		return
	}
	a.lock.Lock()
	a.port = port
	a.lock.Unlock()
	lines := bufio.NewScanner(port)
	for lines.Scan() {
		var reply wire.Reply
		if err := json.Unmarshal(lines.Bytes(), &reply); err != nil {
			a.stop(fmt.Errorf("a reply that is not JSON: %w", err))
			return
		}
		a.take(reply)
	}
	a.stop(errors.Join(errors.New("the machine is gone"), lines.Err()))
}

func (a *agent) take(reply wire.Reply) {
	if reply.Is == wire.Ready {
		close(a.ready)
		return
	}
	a.lock.Lock()
	defer a.lock.Unlock()
	p := a.processes[reply.ID]
	if p == nil {
		return
	}
	p.trouble, p.Status, p.Signal = nil, reply.Status, syscall.Signal(reply.Number)
	if reply.Is == wire.Failed {
		p.trouble = errors.New(reply.Text)
	}
	delete(a.processes, reply.ID)
	close(p.ended)
}

// stop tells everyone who still waits that there is nothing to wait for.
func (a *agent) stop(why error) {
	a.lock.Lock()
	defer a.lock.Unlock()
	a.gone = why
	for id, p := range a.processes {
		p.trouble = why
		delete(a.processes, id)
		close(p.ended)
	}
}

func (a *agent) close() {
	_ = a.listener.Close()
	a.lock.Lock()
	defer a.lock.Unlock()
	if a.port != nil {
		_ = a.port.Close()
	}
}

func (a *agent) waitReady(ctx context.Context, limit time.Duration, ended <-chan struct{}) error {
	timer := time.NewTimer(limit)
	defer timer.Stop()
	select {
	case <-a.ready:
		return nil
	case <-ended:
		return errors.New("qemu ended during the boot")
	case <-timer.C:
		return fmt.Errorf("the machine is not ready after %v", limit)
	case <-ctx.Done():
		return ctx.Err()
	}
}

// ask sends a request; the caller holds the lock.
func (a *agent) ask(r wire.Request) error {
	if a.gone != nil {
		return a.gone
	}
	line, err := json.Marshal(r)
	if err != nil {
		return err
	}
	_, err = a.port.Write(append(line, '\n'))
	return err
}

// Command is a process to run in the machine.
type Command struct {
	Args []string
	Env  []string // "NAME=value", added to the machine's
	TTY  bool     // with a terminal; everything it shows is then Stdout
}

// Process is a process in the machine. Status and Signal hold once it ended.
type Process struct {
	Status int            // exit status, -1 if a signal ended it
	Signal syscall.Signal // the signal that ended it, or 0

	agent   *agent
	id      int
	ended   chan struct{}
	trouble error
}

// Start starts a command; its folder is the shared one.
func (m *Machine) Start(c Command) (*Process, error) {
	a := m.agent
	a.lock.Lock()
	defer a.lock.Unlock()
	a.last++
	p := &Process{agent: a, id: a.last, ended: make(chan struct{})}
	a.processes[p.id] = p
	return p, a.ask(wire.Request{ID: p.id, Do: wire.Start, Args: c.Args, Env: c.Env, TTY: c.TTY})
}

// Run runs a command to its end and returns its standard output. An exit
// status other than 0 is an error that holds the standard error.
func (m *Machine) Run(limit time.Duration, args ...string) (string, error) {
	p, err := m.Start(Command{Args: args})
	if err != nil {
		return "", err
	}
	if err := p.Wait(limit); err != nil {
		return p.Stdout(), fmt.Errorf("%v: %w", args, err)
	}
	if p.Status != 0 {
		return p.Stdout(), fmt.Errorf("%v ended with %d: %s", args, p.Status, tail(p.Stderr(), 20))
	}
	return p.Stdout(), nil
}

// Wait waits until the process has ended.
func (p *Process) Wait(limit time.Duration) error {
	timer := time.NewTimer(limit)
	defer timer.Stop()
	select {
	case <-p.ended:
		return p.trouble
	case <-timer.C:
		return fmt.Errorf("still running after %v", limit)
	}
}

// Kill sends the process a signal.
func (p *Process) Kill(signal syscall.Signal) error {
	return p.request(wire.Request{ID: p.id, Do: wire.Signal, Number: int(signal)})
}

// Write puts text on the process's standard input.
func (p *Process) Write(text string) error {
	return p.request(wire.Request{ID: p.id, Do: wire.Input, Text: text})
}

// EndInput closes the process's standard input.
func (p *Process) EndInput() error {
	return p.request(wire.Request{ID: p.id, Do: wire.EndInput})
}

func (p *Process) request(r wire.Request) error {
	p.agent.lock.Lock()
	defer p.agent.lock.Unlock()
	return p.agent.ask(r)
}

// Stdout is what the process has written so far.
func (p *Process) Stdout() string { return p.output("out") }

// Stderr is what the process has written to its standard error so far.
func (p *Process) Stderr() string { return p.output("err") }

func (p *Process) output(stream string) string {
	// The file is missing until the process has been started.
	content, _ := os.ReadFile(filepath.Join(p.agent.share, fmt.Sprintf("%d.%s", p.id, stream)))
	return string(content)
}
