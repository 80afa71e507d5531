"""Coldwright: a production clock and kitchen display service for small frozen-dessert kitchens."""
