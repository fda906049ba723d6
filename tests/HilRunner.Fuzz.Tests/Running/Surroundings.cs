using System.Globalization;
using System.Text;
using HilRunner.Fuzz.Tests.Readers;

namespace HilRunner.Fuzz.Tests.Running;

/// <summary>What a reader must leave alone: files outside its folder, programs, and the terminal.</summary>
internal sealed class Surroundings : IDisposable
{
    private readonly string _canary, _kept, _elsewhere;
    private readonly Reader _reader;
    private readonly TextWriter _output = Console.Out, _errors = Console.Error;
    private readonly StringWriter _said = new(CultureInfo.InvariantCulture);
    private HashSet<string> _own = [];
    private string _canaryState;
    private long _children;

    /// <param name="folder">Is empty. The reader gets one below it.</param>
    public Surroundings(Reader reader, string folder)
    {
        _reader = reader;
        (Folder, _canary, _elsewhere) =
            (Path.Combine(folder, "case"), Path.Combine(folder, "canary"), Path.Combine(folder, "elsewhere"));
        foreach (string each in (string[])[Folder, _canary, _elsewhere]) { Directory.CreateDirectory(each); }
        _kept = Path.Combine(_canary, "kept.csv");
        File.WriteAllText(_kept, "not to be touched\n");
        _canaryState = State();
        // What is written to a relative path ends there.
        Directory.SetCurrentDirectory(_elsewhere);
        Console.SetOut(_said);
        Console.SetError(_said);
    }

    public string Folder { get; }

    /// <summary>Largest working set since it began, in bytes.</summary>
    public long Peak => Status("VmHWM");

    /// <summary>What is there now is the reader's own.</summary>
    public void Begin()
    {
        _own = [.. Entries(Folder)];
        _children = ChildFaults();
        _said.GetStringBuilder().Clear();
        // What the reader before left on the heap goes back; the peak is counted anew from here (proc(5)).
        GC.Collect(GC.MaxGeneration, GCCollectionMode.Aggressive, blocking: true, compacting: true);
        File.WriteAllText("/proc/self/clear_refs", "5");
    }

    /// <summary>Which promise the last case broke; null: none.</summary>
    public string? Broken()
    {
        if (State() != _canaryState)
        {
            _canaryState = State();
            return "a file outside was touched: beside the folder";
        }
        if (Entries(_elsewhere).FirstOrDefault() is { } stray)
        {
            Directory.Delete(_elsewhere, recursive: true);
            Directory.CreateDirectory(_elsewhere);
            Directory.SetCurrentDirectory(_elsewhere);
            return $"a file outside was touched: {stray} in the working directory";
        }
        if (Entries(Folder).FirstOrDefault(e => !_own.Contains(e) && !_reader.Writes.Contains(e)) is { } odd)
        {
            _own.Add(odd);
            return $"a file was made: {odd}";
        }
        if (!_reader.StartsPrograms && ChildFaults() is var now && now != _children)
        {
            _children = now;
            return "a program was started: and has ended";
        }
        var said = _said.GetStringBuilder();
        if (said.Length == 0) { return null; }
        string text = said.ToString();
        said.Clear();
        return text.FirstOrDefault(c => char.IsControl(c) && c != '\n') is var control and not '\0'
            ? $"a control character on the terminal: U+{(int)control:X4} in {text}" : null;
    }

    /// <summary>Programs that still run; null: none.</summary>
    public string? ProgramsLeft()
    {
        string left = string.Concat(Directory.GetDirectories("/proc/self/task").Select(t => Text(Path.Combine(t, "children"))));
        return !_reader.StartsPrograms && left.Length > 0 ? $"still running: {left}" : null;
    }

    public void Dispose()
    {
        Console.SetOut(_output);
        Console.SetError(_errors);
        Directory.SetCurrentDirectory(Path.GetTempPath());
        _said.Dispose();
    }

    /// <summary>Names directly in a folder, seen without following a link.</summary>
    private static IEnumerable<string> Entries(string folder) =>
        Directory.EnumerateFileSystemEntries(folder).Select(e => Path.GetFileName(e)!);

    private string State()
    {
        var state = new StringBuilder().AppendJoin(' ', Entries(_canary).Order(StringComparer.Ordinal));
        if (File.Exists(_kept))
        {
            state.Append(CultureInfo.InvariantCulture,
                $" {new FileInfo(_kept).Length} {File.GetLastWriteTimeUtc(_kept).Ticks} {new FileInfo(_kept).UnixFileMode}");
        }
        return state.ToString();
    }

    /// <summary>Page faults of children that have ended (proc(5), cminflt): grows with every program that was started.</summary>
    private static long ChildFaults() =>
        long.Parse(Text("/proc/self/stat").Split(") ")[^1].Split(' ')[8], CultureInfo.InvariantCulture);

    private static long Status(string key) =>
        1024 * long.Parse(Text("/proc/self/status").Split('\n').First(l => l.StartsWith(key, StringComparison.Ordinal))
            .Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries)[1], CultureInfo.InvariantCulture);

    private static string Text(string path)
    {
        try { return File.ReadAllText(path); }
        catch (IOException) { return ""; }
    }
}
