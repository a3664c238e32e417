"""The commands of ``edgetime ledger``, one file each or a few that belong together."""
