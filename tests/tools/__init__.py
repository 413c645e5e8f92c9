"""Tools of maintainers, which tests use as well; none of them is needed to build or to answer."""
