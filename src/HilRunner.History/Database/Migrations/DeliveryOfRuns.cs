using FluentMigrator;

namespace HilRunner.History.Database.Migrations;

/// <summary>
/// By which definitions a run was scored, what is known of its delivery, and by which definitions a batch came to its verdict.
/// What was taken in before has null and 1: nobody asked then.
/// </summary>
[Migration(Version, "delivery and definitions")]
public sealed class DeliveryOfRuns : AutoReversingMigration
{
    internal const long Version = 2;

    public override void Up()
    {
        Create.Column("score_schema").OnTable("runs").AsInt32().Nullable();
        Create.Column("delivery").OnTable("runs").AsString(16).Nullable();
        Create.Column("definitions").OnTable("batches").AsInt32().NotNullable().WithDefaultValue(1);
    }
}
