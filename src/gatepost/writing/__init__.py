"""Writing computes nothing: every number on a sheet is a fact or a finding."""
