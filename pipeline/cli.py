"""placeholder, replaced by the command slice"""
def main() -> int:
    return 0
