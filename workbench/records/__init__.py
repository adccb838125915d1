"""What was measured: columns, intake with every fault reported, units, reduction to cells."""
