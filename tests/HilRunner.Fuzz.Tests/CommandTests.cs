using System.Diagnostics;
using HilRunner.Core.Files;
using HilRunner.Core.Runs;
using HilRunner.Fuzz.Tests.Mutations;
using HilRunner.Fuzz.Tests.Readers;
using HilRunner.Fuzz.Tests.Running;
using HilRunner.Testing;

namespace HilRunner.Fuzz.Tests;

/// <summary>
/// The tool as a person calls it, on what somebody else sent: its exit code says whose fault it is, and beside its folder nothing
/// is written, nothing is started, and the terminal gets no control character.
/// </summary>
[Platform("Linux")]
public class CommandTests
{
    private const int Sentence = 65;
    private static readonly TimeSpan s_limit = TimeSpan.FromSeconds(60);
    private TemporaryFolder _folder = null!;
    private string _canary = "";

    [SetUp]
    public void Prepare()
    {
        _folder = TestPaths.NewFolder("commands");
        _canary = Path.Combine(Directory.CreateDirectory(_folder.File("canary")).FullName, "kept.csv");
        File.WriteAllText(_canary, "not to be touched\n");
    }

    [TearDown]
    public void TearDown() => _folder.Dispose();

    private static Stock Stock => SharedStock.Instance.Stock;

    /// <summary>Two cases a reader, through the command that reads it.</summary>
    [TestCase("run.yaml", RunFiles.Manifest, "score")]
    [TestCase("capture", RunFiles.Capture, "report")]
    [TestCase("recording", "case.csv", "inspect")]
    [TestCase("parquet", "case.parquet", "inspect")]
    [TestCase("JSON log", "case.jsonl", "import")]
    [TestCase("rig", "case.yaml", "check", "--rig")]
    [TestCase("history", "history.db", "history")]
    public void A_damaged_file_is_told_in_a_sentence(string name, string file, params string[] command)
    {
        var reader = ReaderTable.Of(name);
        var seeds = reader.Seeds(Stock).ToList();
        for (int seed = 1; seed <= 2; seed++)
        {
            string folder = Directory.CreateDirectory(_folder.File($"case-{seed}")).FullName, path = Path.Combine(folder, file);
            bool ofRun = file is RunFiles.Manifest or RunFiles.Capture;
            if (ofRun) { StoredReaders.Copy(Stock.Run, folder); }
            File.WriteAllBytes(path, Mutator.Case(seeds, reader.Form, seed));
            string[] arguments = command[0] switch
            {
                "import" => [.. command, path, "--out", Path.Combine(folder, "out")],
                "history" => [.. command, "--runs", folder],
                // It is read, and nothing on this machine answers.
                "check" => [command[0], path],
                _ => [.. command, ofRun ? folder : path],
            };
            AssertSentence(Call(arguments), $"{name}, seed {seed}");
        }
    }

    [Test]
    public void A_stored_run_starts_no_program()
    {
        string run = CopyOfRun(), started = Path.Combine(Path.GetDirectoryName(_canary)!, "started"),
            path = Path.Combine(run, RunFiles.Manifest);
        var manifest = RunManifestFile.Read(path);
        string rig = manifest.Rig.Text.Replace(
            "framing: lines", $"framing: {{adapter: {{program: /bin/touch, args: [{started}]}}}}", StringComparison.Ordinal);
        Assert.That(rig, Is.Not.EqualTo(manifest.Rig.Text));
        RunManifestFile.Write(
            path, manifest with { Rig = manifest.Rig with { Text = rig, Sha256 = FileHash.Sha256OfText(rig) } });
        AssertSentence(Call("score", run), "score");
        AssertSentence(Call("report", run), "report");
    }

    [Test]
    public void Links_in_a_stored_run_are_not_followed()
    {
        string run = CopyOfRun();
        foreach (string name in (string[])[RunFiles.Decisions, RunFiles.Score, RunFiles.Report])
        {
            File.Delete(Path.Combine(run, name));
            File.CreateSymbolicLink(Path.Combine(run, name), _canary);
            File.CreateSymbolicLink(Path.Combine(run, name + ".part"), _canary);
        }
        AssertSentence(Call("report", run), "report");
    }

    /// <summary>Names and labels that a terminal would take for commands.</summary>
    [Test]
    public void What_files_say_moves_no_cursor()
    {
        const string red = "\u001b[31mred\u001b]0;title\u0007";
        File.WriteAllText(_folder.File("a.csv"), File.ReadAllText(Stock.File("short.csv")));
        File.WriteAllText(_folder.File("a.labels.csv"), $"start_s,end_s,class\n0,1,{red}\n1,3,resting\n");
        File.WriteAllText(_folder.File("a.yaml"), "rate: 100 Hz\nsource: \"\\e[31mred\\a\"\n");
        File.WriteAllText(_folder.File("log.csv"),
            $"t_s,ax_g,ay_g,az_g,{red},label\n" + string.Concat(
                Enumerable.Range(0, 60).Select(i => $"0.{i:00},0,0.1,1,{red},{red}\n")));
        File.WriteAllText(_folder.File("rig.yaml"),
            File.ReadAllText(Stock.Rig).Replace("rig: virtual", "rig: \"virtual \\e[31mred\"", StringComparison.Ordinal));
        AssertSentence(Call("inspect", _folder.File("a.csv")), "inspect");
        AssertSentence(Call("import", _folder.File("log.csv"), "--out", _folder.File("out")), "import");
        AssertSentence(Call("check", _folder.File("rig.yaml")), "check");
        string batch = Path.Combine(Directory.CreateDirectory(_folder.File("runs")).FullName, "batch"),
            run = Path.Combine(batch, "001-one");
        StoredReaders.Copy(Stock.Batch, batch);
        StoredReaders.Copy(Stock.Run, run);
        string record = File.ReadAllText(Path.Combine(batch, "batch.json"));
        File.WriteAllText(
            Path.Combine(batch, "batch.json"), record.Replace("\"two\"", "\"two \\u001b[31mred\"", StringComparison.Ordinal));
        Assert.That(File.ReadAllText(Path.Combine(batch, "batch.json")), Is.Not.EqualTo(record));
        AssertSentence(Call("history", "--runs", _folder.File("runs")), "history");
    }

    private string CopyOfRun()
    {
        string run = _folder.File("run");
        StoredReaders.Copy(Stock.Run, run);
        return run;
    }

    /// <summary>A verdict, or bad input with a sentence; and nothing else was touched or said.</summary>
    private void AssertSentence((int Code, string Output, string Errors) said, string what)
    {
        string all = said.Output + said.Errors;
        Assert.Multiple(() =>
        {
            Assert.That(said.Code, Is.InRange(0, 2).Or.EqualTo(Sentence), $"{what}: {all}");
            Assert.That(all, Does.Not.Contain("fault of the tool"), what);
            Assert.That(all.Where(c => char.IsControl(c) && c != '\n').Select(c => $"U+{(int)c:X4}").Distinct(),
                Is.Empty, $"{what}: control characters in {all}");
            Assert.That(Directory.EnumerateFileSystemEntries(Path.GetDirectoryName(_canary)!),
                Is.EqualTo(new[] { _canary }), $"{what}: what was made beside the folder");
            Assert.That(File.ReadAllText(_canary), Is.EqualTo("not to be touched\n"), $"{what}: a file outside was written");
        });
    }

    private (int Code, string Output, string Errors) Call(params string[] arguments)
    {
        var start = new ProcessStartInfo(Stock.Hil, arguments) { RedirectStandardInput = true,
            RedirectStandardOutput = true, RedirectStandardError = true, WorkingDirectory = _folder.Path };
        start.Environment["NO_COLOR"] = "1";
        using var process = Process.Start(start)!;
        process.StandardInput.Close();
        var (output, errors) = (process.StandardOutput.ReadToEndAsync(), process.StandardError.ReadToEndAsync());
        if (!process.WaitForExit(s_limit))
        {
            process.Kill(entireProcessTree: true);
            Assert.Fail($"hil {string.Join(' ', arguments)} did not end");
        }
        return (process.ExitCode, output.Result, errors.Result);
    }
}
