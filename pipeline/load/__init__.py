"""The pool on disk: archive and journal are the truth, the DuckDB store is made from them.

A change, in order: `opening.writing` locks the pool, brings the store up to the journal and holds a `Writer`;
`receiving`, `decisions`, `editions` and `erasing` lay bytes into the archive, fill the store's transaction, write the
journal line and commit (`writer.commit`); on leaving, the readers' copy is published. Readers (`reading`, `aside`,
`preview`) look at that copy and lock nothing. `rebuilding`, `verifying`, `backing_up` keep a pool for years.
A job imports what it calls from the file that has it, so that a command that touches no pool starts without the
store's library. `clock` gives the present moment (UTC); all moments are UTC, in whole seconds.
"""
