"""What `fieldvoice doctor` looks at, a finding each."""
