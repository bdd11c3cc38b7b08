"""The moving picture of a can pack; it draws what packsim computes and owns no physics."""
