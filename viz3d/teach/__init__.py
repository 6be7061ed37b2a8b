"""Teaching: the balance explained in words and numbers, exercises with worked answers, lessons."""
