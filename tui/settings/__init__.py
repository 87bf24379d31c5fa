"""What people wrote about the bench and its cells: `bench.toml`, `cell.toml`, the folders."""
