"""The bedside panel: what is found, and give, treat first, ask or check."""

from .panel import Bedside, bedside

__all__ = ["Bedside", "bedside"]
