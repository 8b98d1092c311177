"""Views: tables, plots, reports. They take results and compute none."""
