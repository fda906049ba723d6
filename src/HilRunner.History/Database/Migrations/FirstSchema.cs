using System.Data;
using FluentMigrator;

namespace HilRunner.History.Database.Migrations;

/// <summary>
/// Builds and rigs; batches of runs; runs; the trials that were played, each naming the stretch of motion it was; figures of each batch.
/// Times of day are milliseconds since 1970 (UTC), flags 0 or 1: both databases hold these alike.
/// </summary>
[Migration(Version, "first schema")]
public sealed class FirstSchema : AutoReversingMigration
{
    internal const long Version = 1;

    public override void Up()
    {
        Create.Table("builds")
            .WithColumn("id").AsInt64().PrimaryKey().Identity()
            .WithColumn("label").AsString().NotNullable()
            .WithColumn("sha256").AsString().NotNullable();
        Create.Index("builds_identity").OnTable("builds").OnColumn("label").Ascending().OnColumn("sha256").Ascending().WithOptions().Unique();
        Create.Index("builds_image").OnTable("builds").OnColumn("sha256");

        Create.Table("rigs")
            .WithColumn("id").AsInt64().PrimaryKey().Identity()
            .WithColumn("name").AsString().NotNullable().Unique("rigs_name");

        Create.Table("batches")
            .WithColumn("id").AsInt64().PrimaryKey().Identity()
            .WithColumn("key").AsString(32).NotNullable().Unique("batches_key")
            .WithColumn("name").AsString().NotNullable()
            .WithColumn("build_id").AsInt64().NotNullable().ForeignKey("batches_build", "builds", "id")
            .WithColumn("started_ms").AsInt64().NotNullable()
            .WithColumn("ended_ms").AsInt64().Nullable()
            .WithColumn("verdict").AsString(8).Nullable()
            .WithColumn("reason").AsString().NotNullable()
            .WithColumn("planned").AsInt32().NotNullable()
            .WithColumn("host").AsString().NotNullable()
            .WithColumn("tool").AsString().NotNullable()
            .WithColumn("folder").AsString().NotNullable();
        Create.Index("batches_by_time").OnTable("batches").OnColumn("name").Ascending().OnColumn("started_ms").Descending();
        Create.Index("batches_by_build").OnTable("batches").OnColumn("build_id");

        Create.Table("runs")
            .WithColumn("id").AsInt64().PrimaryKey().Identity()
            .WithColumn("batch_id").AsInt64().NotNullable().ForeignKey("runs_batch", "batches", "id").OnDelete(Rule.Cascade)
            .WithColumn("rig_id").AsInt64().NotNullable().ForeignKey("runs_rig", "rigs", "id")
            .WithColumn("folder").AsString().NotNullable()
            .WithColumn("scenario").AsString().NotNullable()
            .WithColumn("motion").AsString(32).NotNullable()
            .WithColumn("repeat").AsInt32().NotNullable()
            .WithColumn("seed").AsString(20).NotNullable()
            .WithColumn("speed").AsString().NotNullable()
            .WithColumn("started_ms").AsInt64().NotNullable()
            .WithColumn("ended_ms").AsInt64().Nullable()
            .WithColumn("verdict").AsString(8).Nullable()
            .WithColumn("counts").AsInt16().NotNullable();
        Create.Index("runs_by_batch").OnTable("runs").OnColumn("batch_id");
        Create.Index("runs_by_scenario").OnTable("runs").OnColumn("scenario").Ascending().OnColumn("started_ms").Descending();

        Create.Table("stretches")
            .WithColumn("id").AsInt64().PrimaryKey().Identity()
            .WithColumn("scenario").AsString().NotNullable()
            .WithColumn("motion").AsString(32).NotNullable()
            .WithColumn("output").AsString().NotNullable()
            .WithColumn("class").AsString().NotNullable()
            .WithColumn("start_ns").AsInt64().NotNullable();
        Create.Index("stretches_identity").OnTable("stretches")
            .OnColumn("motion").Ascending().OnColumn("start_ns").Ascending().OnColumn("class").Ascending().OnColumn("output").Ascending().OnColumn("scenario").Ascending()
            .WithOptions().Unique();

        Create.Table("trials")
            .WithColumn("run_id").AsInt64().NotNullable().PrimaryKey("trials_identity").ForeignKey("trials_run", "runs", "id").OnDelete(Rule.Cascade)
            .WithColumn("stretch_id").AsInt64().NotNullable().PrimaryKey("trials_identity").ForeignKey("trials_stretch", "stretches", "id")
            .WithColumn("counted").AsInt16().NotNullable()
            .WithColumn("recognised").AsInt16().NotNullable()
            .WithColumn("already").AsInt16().NotNullable()
            .WithColumn("reaction_ns").AsInt64().Nullable()
            .WithColumn("settling_ns").AsInt64().Nullable()
            .WithColumn("report_latency_ns").AsInt64().Nullable()
            .WithColumn("chatter").AsInt32().Nullable();
        Create.Index("trials_by_stretch").OnTable("trials").OnColumn("stretch_id");

        Create.Table("figures")
            .WithColumn("batch_id").AsInt64().NotNullable().PrimaryKey("figures_identity").ForeignKey("figures_batch", "batches", "id").OnDelete(Rule.Cascade)
            .WithColumn("output").AsString().NotNullable().PrimaryKey("figures_identity")
            .WithColumn("class").AsString().NotNullable().PrimaryKey("figures_identity")
            .WithColumn("measure").AsString(32).NotNullable().PrimaryKey("figures_identity")
            .WithColumn("statistic").AsString(8).NotNullable().PrimaryKey("figures_identity")
            // In SQLite a name with DOUB keeps 1.0 a real number.
            .WithColumn("value").AsCustom("double precision").Nullable()
            .WithColumn("trials").AsInt32().NotNullable();
    }
}
