"""The bedside panel: what is found, and give, treat first, ask or check."""

from .panel import bedside

__all__ = ["bedside"]
