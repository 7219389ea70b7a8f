"""What is laid on the board or beside it: register marks, the full-size paper pattern, stencils and templates."""
