"""How a photograph is read: rims, the view they are seen in, guides; `packsim.look.look` asks."""
