"""What goes on one page in the bow case: the bow, its shot, where the locators should sit, the last notes."""
