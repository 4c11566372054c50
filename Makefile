# The commands; DEVELOPERS.md says more. Demo, tests and benches share one build, since PROJ takes minutes to compile.
SWALEWRIGHT := $(or $(CARGO_TARGET_DIR),target)/release/swalewright
DEMO := out/kestrel-flat
REAL := out/real-valley

.PHONY: help demo real test lint bench sizes accuracy docs samples

help:
	@echo 'make demo     build, run the demo from shots to stakes, check what was dug'
	@echo 'make real     the same on real open data'
	@echo 'make test     set up, then run every test'
	@echo 'make lint     format and lint checks'
	@echo 'make bench    the benches'
	@echo 'make sizes DATA=folder   surfaces of 1 to 20 million points beside an independent library (takes 7 GB)'
	@echo 'make accuracy DATA=folder   measure against reference data, write docs/accuracy.md'
	@echo 'make docs     the documentation of the library'
	@echo 'make samples  write data-samples/kestrel-flat anew'

# The pipeline must succeed. The as-built shots hold one planted fault, so their check must end with 1: a check failed.
demo:
	@.ci/setup build
	cargo build --release --locked
	$(SWALEWRIGHT) run pipelines/kestrel-flat.toml --out $(DEMO)
	@echo
	@echo '$(SWALEWRIGHT) check $(DEMO) data-samples/kestrel-flat/asbuilt.csv'
	@$(SWALEWRIGHT) check $(DEMO) data-samples/kestrel-flat/asbuilt.csv; code=$$?; \
	if [ $$code -ne 1 ]; then echo "demo: the check should have found the fault in the dug swale (exit 1), but ended with $$code"; exit 1; fi
	@echo
	@echo 'demo: the check found the fault that the sample holds on purpose'
	@echo 'demo: everything is in $(DEMO); open $(DEMO)/sheets/dig-sheet.html in a browser'

real:
	@.ci/setup build
	cargo build --release --locked
	$(SWALEWRIGHT) run pipelines/real-valley.toml --out $(REAL)

test:
	@.ci/setup test
	cargo test --release --locked

lint:
	cargo fmt --all --check
	cargo clippy --release --locked --all-targets -- -D warnings

bench:
	@.ci/setup build
	cargo bench --locked

# Random clouds, and the tiles of DATA/clouds with a million points or more where there are some.
sizes:
	@.ci/setup build
	cargo run --release --locked --example tin_at_size -- 1000000 $(wildcard $(DATA)/clouds/*_merged.laz) 3600000 10000000 20000000

# Sections whose reference data is not in DATA say "not run".
accuracy:
	@.ci/setup accuracy
	cargo run --release --locked --example accuracy -- --write $(DATA)

docs:
	cargo doc --release --locked --no-deps

samples:
	cargo run --release --locked --example kestrel_flat -- shots data-samples/kestrel-flat
	cargo build --release --locked
	$(SWALEWRIGHT) run pipelines/kestrel-flat.toml --out $(DEMO)
	cargo run --release --locked --example kestrel_flat -- asbuilt $(DEMO) data-samples/kestrel-flat
