"""Controller settings for a process: by published rules, judged on the model, rehearsed on the plant."""
