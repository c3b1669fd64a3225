"""Life-cycle costs, proposals, truck stock and fleet screening."""
