"""Where flights meet the bay: first contacts and the outcomes they give."""
