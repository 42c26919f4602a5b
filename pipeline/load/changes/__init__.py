"""Changes of a pool, a journal line each: receiving, decisions, editions, erasing."""
