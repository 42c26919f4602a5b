"""The kinds of sheet that members send, each as one value; `registry.KINDS` lists them."""
