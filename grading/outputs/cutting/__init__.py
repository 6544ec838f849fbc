"""Files for whoever cuts: die makers, laser cutters, print shops. One a size and hand, in open formats."""
