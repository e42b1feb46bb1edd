"""The same steps over past weather, with a clock and a cast of their own."""
