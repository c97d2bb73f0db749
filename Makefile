# Shortcuts; check.sh is the one test command.
.PHONY: release demo check build test bench lint golden
demo:
	go run ./cmd/fairset serve --demo
check:
	bash check.sh
build:
	CGO_ENABLED=0 go build -trimpath -o fairset ./cmd/fairset
test:
	go test ./...
bench:
	go test -run '^$$' -bench . -benchmem ./...
lint:
	go vet ./... && go tool staticcheck ./... && golangci-lint run
golden:
	go test ./drawing/... ./sheet/... -update
release:
	bash release.sh
