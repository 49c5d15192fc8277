"""Questioning the order: what is unsafe about it, missing from it, or unlike the usual one."""
