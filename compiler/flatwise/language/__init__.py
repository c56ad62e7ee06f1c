"""From trees to one `Work` a job: link, then read."""
