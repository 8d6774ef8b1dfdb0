"""The used-oil log: containers, what went in, what a collector took away."""
