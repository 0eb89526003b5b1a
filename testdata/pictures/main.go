// Pictures takes the README's pictures, of the demo on the day on which its
// story begins, with the browser that the tests use:
//
//	make pictures
//
// The same browser and fonts make the same pictures.
package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"
	"time"

	"pryday/testdata/testrun/demo"
)

// folder is where the pictures go, seen from the top of the project.
const folder = "testdata/pictures"

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	ctx, end := context.WithTimeout(ctx, 5*time.Minute)
	defer end()
	if err := run(ctx); err != nil {
		fmt.Fprintln(os.Stderr, "pictures:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context) (err error) {
	club, err := demo.Start(ctx, "bin/pryday")
	if err != nil {
		return err
	}
	defer func() {
		if ended := club.Stop(); err == nil {
			err = ended
		}
	}()
	phone, end, err := openPhone(ctx)
	if err != nil {
		return err
	}
	defer end()
	if err := phone.signIn(club.SignIn); err != nil {
		return err
	}
	pages, err := phone.pages()
	if err != nil {
		return err
	}
	chance, err := phone.chance()
	if err != nil {
		return err
	}
	if err := save("pages.png", pages...); err != nil {
		return err
	}
	return save("chance.png", chance)
}

// save writes pictures side by side into one file.
func save(name string, shots ...[]byte) error {
	b, err := sideBySide(shots)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	fmt.Printf("%s: %d kB\n", filepath.Join(folder, name), (len(b)+1023)/1024)
	return os.WriteFile(filepath.Join(folder, name), b, 0o644)
}
