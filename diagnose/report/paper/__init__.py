"""The papers of a case: worksheet, draft entry, hand-over sheet; one plain model, four ways to write it out."""
