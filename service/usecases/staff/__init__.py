"""Accounts, signing in, the audit log, the doctor."""
