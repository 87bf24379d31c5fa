"""Drawing for terminals: sheets of cells, dots, axes and colours. Knows nothing of a bench."""
