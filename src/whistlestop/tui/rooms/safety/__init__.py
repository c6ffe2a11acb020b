"""The safety notice, the health stop's page, and noting a discomfort."""
