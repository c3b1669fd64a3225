"""What a student predicts or chooses, beside what is true of the blade and of the job."""
