"""What people read: terminal text, figures and the page. The only room that imports matplotlib."""
