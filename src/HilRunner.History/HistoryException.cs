using System.Data;
using Microsoft.Data.Sqlite;

namespace HilRunner.History;

/// <summary>The database could not be opened, read or written. The runs are not touched by that: their folders are the record, this is an index of them.</summary>
public sealed class HistoryException(string message, Exception inner) : IOException(message, inner)
{
    private const int Corrupt = 11, NoDatabase = 26;

    /// <summary>
    /// The file is not, or no more, a database (SQLITE_CORRUPT, SQLITE_NOTADB), or holds what no history has: only making it
    /// again helps.
    /// </summary>
    public bool Damaged =>
        InnerException is SqliteException { SqliteErrorCode: Corrupt or NoDatabase } || IsOfContent(InnerException);

    /// <summary>A value of another kind than its column's, or none where there must be one.</summary>
    internal static bool IsOfContent(Exception? fault) =>
        fault is DataException or InvalidCastException or FormatException or OverflowException or ArgumentException;
}
