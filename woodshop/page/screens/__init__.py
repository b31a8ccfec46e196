"""The screens of the page, in the order of the work. Each module registers its screens with `frame.screen`."""
