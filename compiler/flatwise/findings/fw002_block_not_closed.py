"""FW002 · block not closed

The file goes on, or ends, before the `}` of an open block. The finding points to where the brace is missing and
shows where the block was opened.

## Why it hurts
Without the brace it is not clear which lines belong to the block, so the lines that follow may be read as part of it.

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
