using FluentMigrator.Runner.VersionTableInfo;

namespace HilRunner.History.Database;

/// <summary>The table in which the migrations that were applied stand.</summary>
internal sealed class VersionTable : IVersionTableMetaData
{
    public const string Name = "schema_versions";

    public bool OwnsSchema => false;
    public string SchemaName => "";
    public string TableName => Name;
    public string ColumnName => "version";
    public string DescriptionColumnName => "description";
    public string UniqueIndexName => "schema_versions_version";
    public string AppliedOnColumnName => "applied_on";
    public bool CreateWithPrimaryKey => false;
}
