"""One room per page or group of pages: request in, page out."""
