"""FW002 · block not closed

A block opens with `{` and the file goes on, or ends, without its `}`.  The finding points at where the brace
was missed and shows where the block was opened.

## Why it hurts
Without the brace nobody can say which lines belong to the block, so what follows may be read as part of it.

## Fails
```flat
job demo from plain_top {
    cut {
        depth 0.4mm
```

## Mended
```flat
job demo from plain_top {
    cut {
        depth 0.4mm
    }
}
```
"""
