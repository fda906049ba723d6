using HilRunner.History.Database;
using HilRunner.Testing;
using Dapper;

namespace HilRunner.History.Tests;

public enum Kind { Sqlite, Postgres }

/// <summary>An empty history of one kind, removed when disposed.</summary>
internal sealed class Databases : IDisposable
{
    private readonly TemporaryFolder _folder = TestPaths.NewFolder();
    private readonly string _name = $"hil_test_{Guid.NewGuid():N}";
    private readonly PostgresPlace? _server;

    public Databases(Kind kind)
    {
        if (kind == Kind.Sqlite)
        {
            Place = new SqlitePlace(_folder.File("history.db"));
            return;
        }
        _server = (PostgresPlace)HistoryPlace.Parse(TestPostgres.Address);
        Admin($"create database {_name}");
        Place = new PostgresPlace(new(_server.Settings.ConnectionString) { Database = _name, Pooling = false });
    }

    public HistoryPlace Place { get; }

    public HistoryDatabase Open() => HistoryDatabase.Open(Place);

    public void Dispose()
    {
        _folder.Dispose();
        if (_server is not null) { Admin($"drop database {_name} with (force)"); }
    }

    private void Admin(string sql)
    {
        using var connection = HistoryDatabase.Connect(_server!);
        connection.Open();
        connection.Execute(sql);
    }
}
