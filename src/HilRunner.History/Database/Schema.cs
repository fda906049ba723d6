using Dapper;
using FluentMigrator.Runner;
using FluentMigrator.Runner.VersionTableInfo;
using HilRunner.History.Database.Migrations;
using Microsoft.Extensions.DependencyInjection;

namespace HilRunner.History.Database;

/// <summary>Brings a database to the schema of this version of the tool, once, however many open it at the same moment.</summary>
internal static class Schema
{
    /// <summary>The newest migration.</summary>
    public const long Current = DeliveryOfRuns.Version;

    private const long MigratorLock = 0x48494C_02;

    /// <exception cref="HistoryException">It was written by a newer version of the tool.</exception>
    public static void Update(HistoryPlace place) => Update(place, Current);

    /// <param name="to">The version that is wanted: an earlier one where there is to be an older database.</param>
    internal static void Update(HistoryPlace place, long to)
    {
        if (VersionOf(place) == to) { return; }
        using (Alone(place))
        {
            long version = VersionOf(place);
            if (version > Current)
            {
                throw new HistoryException($"the history, {place.Shown}: made by a newer version of hil (schema {version}, this one knows {Current}); use that one, or another history",
                    new InvalidDataException("schema too new"));
            }
            if (version == to) { return; }
            using var services = Services(place);
            services.GetRequiredService<IMigrationRunner>().MigrateUp(to);
        }
    }

    /// <summary>0: there is no schema yet.</summary>
    private static long VersionOf(HistoryPlace place)
    {
        if (place is SqlitePlace file && !File.Exists(file.Path))
        {
            if (Path.GetDirectoryName(Path.GetFullPath(file.Path)) is { } folder) { Directory.CreateDirectory(folder); }
            return 0;
        }
        using var connection = HistoryDatabase.Connect(place);
        connection.Open();
        string find = place is SqlitePlace
            ? "select count(*) from sqlite_master where name = @name"
            : "select count(*) from information_schema.tables where table_name = @name and table_schema = current_schema()";
        return connection.ExecuteScalar<long>(find, new { name = VersionTable.Name }) == 0 ? 0
            : connection.ExecuteScalar<long?>($"select max(version) from {VersionTable.Name}") ?? 0;
    }

    /// <summary>Keeps other processes from migrating too: a locked file beside a SQLite file, a lock of the database in PostgreSQL.</summary>
    private static IDisposable Alone(HistoryPlace place)
    {
        // Not by an exclusive transaction: that would lock the migrator itself out.
        if (place is SqlitePlace file) { return FileLock.Take(file.Path + ".lock"); }
        var connection = HistoryDatabase.Connect(place);
        try
        {
            connection.Open();
            connection.Execute("select pg_advisory_lock(@MigratorLock)", new { MigratorLock });
            return connection;
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }

    private static ServiceProvider Services(HistoryPlace place)
    {
        string connection = place is PostgresPlace postgres ? postgres.Settings.ConnectionString : HistoryDatabase.SqliteSettings((SqlitePlace)place).ConnectionString;
        return new ServiceCollection()
            .AddFluentMigratorCore()
            .ConfigureRunner(runner =>
            {
                _ = place is PostgresPlace ? runner.AddPostgres() : runner.AddSQLite();
                runner.WithGlobalConnectionString(connection).ScanIn(typeof(FirstSchema).Assembly).For.Migrations();
            })
            .AddScoped<IVersionTableMetaData, VersionTable>()
            .BuildServiceProvider(validateScopes: false);
    }
}
