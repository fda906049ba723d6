using HilRunner.Core;
using HilRunner.Fuzz.Tests.Running;

namespace HilRunner.Fuzz.Tests.Readers;

/// <summary>What bytes look like: which mutations know their structure.</summary>
internal enum Form { Yaml, Json, JsonLines, Table, PcapNg, Parquet, Sqlite, Bytes }

/// <summary>One reader of bytes that come from outside, as the commands use it.</summary>
/// <param name="Name">Of the test, and of the reader on the command line.</param>
/// <param name="Seeds">Good inputs, which are mutated.</param>
/// <param name="Open">
/// Gets an empty folder for what a case needs, and gives what reads one case. It returns when the bytes are accepted, and throws
/// when they are refused.
/// </param>
internal sealed record Reader(
    string Name, Form Form, Func<Stock, IEnumerable<byte[]>> Seeds, Func<Stock, string, Action<byte[]>> Open)
{
    /// <summary>A sentence for the person. Of a file: a place, what was found and what was expected (exit code 65).</summary>
    public Func<Exception, bool> Refuses { get; init; } = IsBadInput;

    /// <summary>Names of files and folders, directly in the reader's folder, that it may write.</summary>
    public IReadOnlyList<string> Writes { get; init; } = [];

    /// <summary>It is there to start a program.</summary>
    public bool StartsPrograms { get; init; }

    public static bool IsBadInput(Exception fault) =>
        fault is BadInputException { Faults: { Count: > 0 } faults }
        && faults.All(f => f.File.Length > 0 && f.Found.Length > 0 && f.Expected.Length > 0 && f.Line >= 0 && f.Column >= 0);
}
