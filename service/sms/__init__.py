"""Texts in and out: mail from a gateway comes in over SMTP, answers leave through an adapter."""
