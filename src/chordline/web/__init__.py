"""The coach's pages and the JSON interface behind them."""
