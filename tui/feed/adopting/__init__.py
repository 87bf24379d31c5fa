"""What the files of an unknown logger hold: looked at in samples, proposed with reasons."""
