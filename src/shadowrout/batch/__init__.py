"""Many orders, each a job file with a folder of results of its own, made by several processes at a time."""

from __future__ import annotations

from shadowrout.batch.orders import Order, orders_of
from shadowrout.batch.run import run
from shadowrout.batch.summary import OrderResult, as_json, exit_code, summary

__all__ = ["Order", "OrderResult", "as_json", "exit_code", "orders_of", "run", "summary"]
