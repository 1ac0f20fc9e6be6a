//! Reading quantities as people write them, and writing them as people read them.
