"""The command line of Remetre: reads requests, calls the library, prints. Nothing else prints."""
