"""The parts that a mitten is composed of: a module for each, with every choice that there is for it."""
