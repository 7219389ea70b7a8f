"""The paper pattern: what is drawn on it, the sheets it is printed on, the page in front of them."""
