"""Every sum and verdict of the trade and of accounting: values in, frozen values out, no Django, no clock."""
