"""For the admin: accounts, who is signed in, the audit log; and numbers shown to the desk."""
