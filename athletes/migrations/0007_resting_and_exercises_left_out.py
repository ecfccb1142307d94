from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("athletes", "0006_outgoing_mail"),
        ("library", "0001_squashed_0008_own_picture"),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="restriction",
            name="restriction_region_is_known",
        ),
        migrations.AddField(
            model_name="restriction",
            name="without",
            field=models.ManyToManyField(
                blank=True,
                help_text="exercises left out by name, because they hurt",
                related_name="+",
                to="library.exercise",
            ),
        ),
        migrations.AlterField(
            model_name="restriction",
            name="region",
            field=models.CharField(
                blank=True,
                choices=[
                    ("head_neck", "head or neck"),
                    ("shoulder", "shoulder"),
                    ("elbow", "elbow"),
                    ("wrist_hand", "wrist or hand"),
                    ("upper_back", "upper back"),
                    ("lower_back", "lower back"),
                    ("hip_groin", "hip or groin"),
                    ("thigh", "thigh"),
                    ("knee", "knee"),
                    ("lower_leg", "lower leg"),
                    ("ankle", "ankle"),
                    ("foot", "foot"),
                ],
                help_text="empty for the whole body",
                max_length=12,
            ),
        ),
        migrations.AddConstraint(
            model_name="restriction",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    (
                        "region__in",
                        [
                            "head_neck",
                            "shoulder",
                            "elbow",
                            "wrist_hand",
                            "upper_back",
                            "lower_back",
                            "hip_groin",
                            "thigh",
                            "knee",
                            "lower_leg",
                            "ankle",
                            "foot",
                        ],
                    ),
                    models.Q(("kind", "nothing"), ("region", ""), ("side", "both")),
                    _connector="OR",
                ),
                name="restriction_region_is_known",
            ),
        ),
    ]
