"""The comparison: pooled drain ratios per component share, how sure they are, and what may be advised."""
