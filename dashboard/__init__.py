"""The screens: what people touch in a browser. Knows recording and statements, never the ledger."""
