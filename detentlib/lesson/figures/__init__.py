"""The drawings of the texts, each made by code; `every.py` writes them all."""
