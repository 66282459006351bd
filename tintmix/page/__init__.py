"""What the page remembers: its folder, undo, revisions, work in progress, and what each screen shows. No addresses, no markup."""
