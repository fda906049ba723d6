using System.Data;
using System.Data.Common;
using Dapper;
using Microsoft.Data.Sqlite;
using Npgsql;

namespace HilRunner.History.Database;

/// <summary>An open history, its schema brought up to date. One connection; not for several threads.</summary>
public sealed class HistoryDatabase : IDisposable
{
    /// <summary>Held by whoever writes to a PostgreSQL history, to the end of the transaction: writers follow one another as they do in SQLite.</summary>
    private const long WriterLock = 0x48494C_01;

    private HistoryDatabase(HistoryPlace place, DbConnection connection) => (Place, Connection) = (place, connection);

    public HistoryPlace Place { get; }

    internal DbConnection Connection { get; }

    /// <exception cref="HistoryException">It cannot be opened, or is no history, or one of a newer version of this tool.</exception>
    public static HistoryDatabase Open(HistoryPlace place)
    {
        ArgumentNullException.ThrowIfNull(place);
        return Guarded(place, () =>
        {
            Schema.Update(place);
            var connection = Connect(place);
            try { connection.Open(); }
            catch
            {
                connection.Dispose();
                throw;
            }
            return new HistoryDatabase(place, connection);
        });
    }

    public void Dispose() => Connection.Dispose();

    /// <summary>Does what is asked in one transaction that no other writer is in: all of it or, after a fault, nothing.</summary>
    /// <exception cref="HistoryException">The database is full, locked for half a minute, gone …</exception>
    internal void Write(Action<DbTransaction> work) => Guarded(Place, () =>
    {
        using var transaction = Connection.BeginTransaction(IsolationLevel.Unspecified);
        if (Place is PostgresPlace) { Connection.Execute("select pg_advisory_xact_lock(@WriterLock)", new { WriterLock }, transaction); }
        work(transaction);
        transaction.Commit();
        return true;
    });

    /// <exception cref="HistoryException">The database cannot be read.</exception>
    internal IReadOnlyList<T> Query<T>(string sql, object? parameters = null) => Guarded(Place, () => Connection.Query<T>(sql, parameters).AsList());

    internal static DbConnection Connect(HistoryPlace place) => place switch
    {
        SqlitePlace file => new SqliteConnection(SqliteSettings(file).ConnectionString),
        PostgresPlace postgres => new NpgsqlConnection(postgres.Settings.ConnectionString),
        _ => throw new ArgumentOutOfRangeException(nameof(place), place, "is no place for a history"),
    };

    /// <summary>No pool: a file that nobody uses is not held open, so that it can be moved or deleted.</summary>
    internal static SqliteConnectionStringBuilder SqliteSettings(SqlitePlace file) => new() { DataSource = file.Path, ForeignKeys = true, Pooling = false };

    internal static T Guarded<T>(HistoryPlace place, Func<T> work)
    {
        try { return work(); }
        catch (Exception fault)
            when (fault is DbException or TimeoutException or System.Net.Sockets.SocketException
                || HistoryException.IsOfContent(fault))
        {
            string said = $"the history, {place.Shown}: {fault.Message.TrimEnd('.')}";
            bool damaged = new HistoryException(said, fault).Damaged;
            throw new HistoryException($"{said}; {(damaged ? "make it again from the runs with hil history --rebuild" : "check that it can be reached and written")}", fault);
        }
    }
}
