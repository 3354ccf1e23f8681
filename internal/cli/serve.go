package cli

import (
	"context"
	"fmt"
	"net"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"

	"lampwright/examples"
	"lampwright/internal/project"
	"lampwright/internal/partslib"
	"lampwright/internal/web"
)

type serveCmd struct {
	Path  string   `arg:"" optional:"" default:"." help:"Project folder or design file; an empty folder is offered the demos."`
	Other []string `arg:"" optional:"" help:"Other project folders or design files to compare with; they are read and never written."`
	Open  bool     `negatable:"" default:"true" help:"Open the page in the browser."`
	Addr  string   `default:"127.0.0.1:0" help:"Address to listen on; one that others can reach gets a token. Port 0 takes a free one."`
	Token string   `help:"Token in place of a random one, where the address needs one."`
}

// Run serves a project to the browser until it is interrupted.
func (c *serveCmd) Run(r *run) error {
	dir, name, err := folderOf(c.Path)
	if err != nil {
		return err
	}
	var others []web.Other
	for _, given := range c.Other {
		folder, file, err := folderOf(given)
		if err != nil {
			return err
		}
		root, err := os.OpenRoot(folder)
		if err != nil {
			return err
		}
		defer root.Close()
		if _, err := root.Stat(file); err != nil {
			return fmt.Errorf("compare with %s: %w", given, err)
		}
		others = append(others, web.Other{Title: given, Folder: root.FS(), File: file})
	}
	l, err := net.Listen("tcp", c.Addr)
	if err != nil {
		return fmt.Errorf("listen on %s: %w; give another with --addr", c.Addr, err)
	}
	defer l.Close()
	at := l.Addr().(*net.TCPAddr)
	host := at.IP.String()
	if at.IP.IsUnspecified() {
		host = "127.0.0.1"
	}
	page := url.URL{Scheme: "http", Host: net.JoinHostPort(host, strconv.Itoa(at.Port)), Path: "/"}
	token := ""
	if !at.IP.IsLoopback() {
		if token = c.Token; token == "" {
			token = web.NewToken()
		}
		page.RawQuery = url.Values{"token": {token}}.Encode()
	}
	s, err := web.New(web.Options{
		Folder: dir, File: name, Shelf: partslib.Files(), Templates: beginnings(), Others: others, Store: r.store(c.Path), Addr: at, Token: token,
	})
	if err != nil {
		return err
	}
	r.println(fmt.Sprintf("%s is open at %s", filepath.Join(dir, name), page.String()))
	if token != "" {
		r.println("Others on the network can reach this address; it answers only to the token in it, and nothing is encrypted.")
	}
	r.println("Ctrl-C ends it.")
	if c.Open {
		open(r.ctx, page.String())
	}
	return s.Serve(r.ctx, l)
}

// folderOf returns the folder of a project and the name of its design file.
func folderOf(path string) (dir, name string, err error) {
	info, err := os.Stat(path)
	if err != nil {
		return "", "", fmt.Errorf("open %s: %w; make the folder first, or give one that is there", path, err)
	}
	dir, name = path, project.DesignFile
	if !info.IsDir() {
		dir, name = filepath.Dir(path), filepath.Base(path)
	}
	dir, err = filepath.Abs(dir)
	return dir, name, err
}

// open asks the system to show an address. Where it cannot, the address stands on the terminal all the same.
func open(ctx context.Context, address string) {
	name, args := "xdg-open", []string{address}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", address}
	}
	cmd := exec.CommandContext(ctx, name, args...)
	if cmd.Start() == nil {
		go func() { _ = cmd.Wait() }() // it is no matter of ours how it ends
	}
}

// beginnings returns what an empty folder can be filled with.
func beginnings() []web.Template {
	demo := func(key, title, about string) web.Template {
		data, err := examples.Files.ReadFile(key + "/" + project.DesignFile)
		if err != nil {
			panic("cli: " + err.Error())
		}
		return web.Template{Key: key, Title: title, About: about, Files: map[string][]byte{project.DesignFile: data}}
	}
	return []web.Template{
		demo("planted-tank-first", "Demo: planted tank, first version", "A lamp as one draws it on a weekend. It has traps for the review to find."),
		demo("planted-tank", "Demo: planted tank", "What became of it: the same tank, with nothing left that stops."),
		demo("propagation-bench", "Demo: propagation bench", "A level bench in air, without water."),
		{
			Key: "starter", Title: "Your own lamp", About: "A commented design file to change line by line, and a file for your own parts.",
			Files: map[string][]byte{project.DesignFile: starter, "parts/own.yaml": starterParts},
		},
	}
}
