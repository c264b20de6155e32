// Command feedline plans the extrusion lines of a plant that runs on recycled polystyrene.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	"time"

	"feedline/cmd/internal/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second signal ends the program at once
	env := cli.Env{In: os.Stdin, Out: os.Stdout, Err: os.Stderr, Getenv: os.Getenv, Now: time.Now}
	os.Exit(cli.Run(ctx, os.Args[1:], env))
}
