"""What is measured while building: setting up the tail, hanging the card copy, weighing."""
