"""What the shelf has to tell: a material is low, has to be ordered, or a lot nears its date. Each kind in a module."""

from inventory.notices import best_before, order_by, stock_low

__all__ = ["best_before", "order_by", "stock_low"]
