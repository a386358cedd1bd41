"""The user's own music, measured: how loud, how peaky, where its sound lies."""
