"""What makes the bench a program on a tablet: the service worker, and how it is called on the home screen."""
