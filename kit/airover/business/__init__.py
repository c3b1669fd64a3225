"""Life cost, proposal, truck stock and fleet."""
