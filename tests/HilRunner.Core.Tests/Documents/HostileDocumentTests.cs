using System.Diagnostics;
using HilRunner.Core.Acceptance;
using HilRunner.Core.Models;
using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Import;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Sweeps;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Documents;

/// <summary>Documents that are made to cost: each is refused with a sentence, in bounded time.</summary>
internal sealed class HostileDocumentTests
{
    private static readonly (string Kind, Action<string> Read)[] s_readers =
    [
        ("rig", path => RigFile.Read(path)), ("scenario", path => ScenarioFile.Read(path)),
            ("suite", path => SuiteFile.Read(path)),
        ("limits", path => LimitsFile.Read(path)),
            ("acceptance", path => AcceptancePlanFile.Read(path)), ("sweep", path => SweepPlanFile.Read(path)),
        ("map", path => ImportMapFile.Read(path, [])), ("model", path => MotionModel.Read(path)),
            ("side", path => RecordingFile.Read(Path.ChangeExtension(path, ".csv"))),
    ];

    private TemporaryFolder _folder = null!;

    private static IEnumerable<string> Kinds => s_readers.Select(r => r.Kind);

    [SetUp]
    public void SetUp()
    {
        _folder = TestPaths.NewFolder();
        File.WriteAllText(_folder.File("a.csv"), "t_s,ax_g\n0,1\n1,1\n");
    }

    [TearDown]
    public void TearDown() => _folder.Dispose();

    [TestCaseSource(nameof(Kinds))]
    public void Every_kind_of_document_refuses_what_costs_too_much(string kind)
    {
        string aliases = "a: &a [x,x,x,x,x,x,x,x,x]\n"
            + string.Concat(Enumerable.Range(0, 9)
                .Select(i =>
                    $"{(char)('b' + i)}: &{(char)('b' + i)} [{string.Join(',', Enumerable.Repeat($"*{(char)('a' + i)}", 9))}]\n"));
        (string Text, string Expected)[] hostile =
        [
            ("&a [*a, *a, *a]", "aliases are not read"),
            (aliases, "aliases are not read"),
            ("a: " + new string('[', 100_000), "nested deeper than 48"),
            (string.Concat(Enumerable.Repeat("- ", 100_000)), "nested deeper than 48"),
            (string.Concat(Enumerable.Range(0, 60_000).Select(i => $"k{i}: 1\n")), "more than 100000 keys and values"),
            (string.Concat(Enumerable.Range(0, 300_000).Select(i => $"key{i}: 1\n")), "more than 100000 keys and values"),
            (string.Concat(Enumerable.Range(0, 40_000).Select(i => $"k{i}: 1\n")), "more faults beyond the 2"),
            ($"{new string('k', 400_000)}: [{string.Concat(Enumerable.Repeat("a,", 40_000))}]", ""),
            ("a: {b: 'c", "not YAML"),
            (new string('x', 5_000_000), "at most "),
        ];
        var watch = Stopwatch.StartNew();
        Assert.Multiple(() =>
        {
            foreach (var (text, expected) in hostile)
            {
                if (kind is "side" or "model" && text.Length > 900_000 && expected.Length > 0) { continue; }
                string message = Refused(kind, text);
                if (kind is not ("limits" or "side" or "map") || !expected.StartsWith("more faults", StringComparison.Ordinal))
                {
                    Assert.That(message, Does.Contain(expected), text[..Math.Min(40, text.Length)]);
                }
                Assert.That(message, Has.Length.LessThan(60_000), "a message that a person reads");
            }
        });
        Assert.That(watch.Elapsed, Is.LessThan(TimeSpan.FromSeconds(20)), "all of them");
    }

    /// <summary>What is no file is refused before it is opened: a pipe without a writer would never end.</summary>
    [Test, CancelAfter(60_000)]
    public void What_is_no_file_is_refused_by_every_reader()
    {
        string pipe = _folder.File("pipe");
        using (var made = Process.Start("mkfifo", [pipe])) { made.WaitForExit(); }
        using var socket = new System.Net.Sockets.Socket(System.Net.Sockets.AddressFamily.Unix,
            System.Net.Sockets.SocketType.Stream, System.Net.Sockets.ProtocolType.Unspecified);
        socket.Bind(new System.Net.Sockets.UnixDomainSocketEndPoint(_folder.File("s")));
        (string Path, string Found)[] others = [(pipe, "a FIFO"), (_folder.File("s"), "a socket"),
            ("/dev/zero", "a device"), ("/dev/urandom", "a device"), (_folder.Path, "a folder")];
        var destination = new ImportDestination(_folder.Path);
        (string Name, Action<string> Read)[] readers =
        [
            .. s_readers.Where(r => r.Kind != "side"),
            ("recording", path => RecordingFile.Read(path)),
            ("parquet", path => RecordingFile.Read(Linked(path, "p.parquet"))),
            ("log", path => RecordingImport.Survey(path, ImportMapFile.Read(null, []), destination)),
            ("side", path => { Linked(path, "a.yaml"); RecordingFile.Read(_folder.File("a.csv")); }),
            ("labels", path => { Linked(path, "a.labels.csv"); File.WriteAllText(
                _folder.File("a.yaml"), "rate: 1 Hz\n"); RecordingFile.Read(_folder.File("a.csv")); }),
            ("expected", path => Core.Runs.ExpectedFile.Read(path)),
            ("decisions", path => Core.Runs.DecisionsFile.Read(path)),
        ];
        Assert.Multiple(() =>
        {
            foreach (var (path, found) in others)
            {
                foreach (var (name, read) in readers)
                {
                    string message = Assert.Throws<BadInputException>(() => read(path), $"{name} {path}")?.Message ?? "";
                    Assert.That(message, Does.Contain(found), $"{name} {path}");
                    File.Delete(_folder.File("a.yaml"));
                    File.Delete(_folder.File("a.labels.csv"));
                }
            }
        });
    }

    private string Linked(string target, string name)
    {
        string path = _folder.File(name);
        File.Delete(path);
        File.CreateSymbolicLink(path, target);
        return path;
    }

    private string Refused(string kind, string text)
    {
        File.WriteAllText(_folder.File("a.yaml"), text);
        var refused = Assert.Throws<BadInputException>(() => s_readers.First(r => r.Kind == kind)
            .Read(_folder.File("a.yaml")), $"{kind}: {text[..Math.Min(60, text.Length)]}");
        return refused?.Message ?? "";
    }
}
