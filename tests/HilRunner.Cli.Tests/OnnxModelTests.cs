using System.Diagnostics;
using System.Text.Json;
using HilRunner.Core.Runs;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>rigs/onnx: a network as a device and as the host model, held to what scikit-learn says of the same motion.</summary>
public class OnnxModelTests
{
    private const string Options = "--classes resting,carried,conveyed --rate 100 --window 128 --hop 25 --confirm 3";
    private TemporaryFolder _folder = null!;
    private string _program = "";

    [OneTimeSetUp]
    public void Build()
    {
        _folder = TestPaths.NewFolder("onnx");
        Tool("dotnet", "build", "rigs/onnx/OnnxModel.cs", "-c", "Release", "-o", _folder.File("program"));
        _program = _folder.File(Path.Combine("program", "OnnxModel"));
        Python("fit", Path.Combine("scenarios", "parcel", "recordings"), _folder.File("net.onnx"), _folder.File("net.npz"));
    }

    [OneTimeTearDown]
    public void TearDown() => _folder.Dispose();

    [Test]
    public void ItSaysWhatScikitLearnSays()
    {
        string recording = Path.Combine(TestPaths.Root, "scenarios", "parcel", "recordings", "handover.csv");
        File.WriteAllText(_folder.File("whole.yaml"), $"scenario: whole\nstimulus:\n  - {{play: {recording}}}\nlimits:\n  - {{measure: accuracy, at_least: 0}}\n");
        var result = Hil.Run("run", _folder.File("whole.yaml"), "--rig", "rigs/virtual.yaml", "--link", $"process:{_program} {_folder.File("net.onnx")} {Options}", "--out", _folder.File("runs"), "--quiet");
        Assert.That(result.Code, Is.Zero, result.Output + result.Errors);
        string run = Path.GetDirectoryName(Directory.GetFiles(_folder.File("runs"), RunFiles.Decisions, SearchOption.AllDirectories).Single())!;
        string[] said = [.. DecisionsFile.Read(Path.Combine(run, RunFiles.Decisions)).Select(d => $"{d.Sample} {d.Class}")];
        string[] reference = Python("predict", _folder.File("net.npz"), Path.Combine(run, RunFiles.Stimulus)).Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.That(said, Has.Length.GreaterThan(4).And.EqualTo(reference));
    }

    [Test]
    public void AFirmwareIsHeldAgainstIt()
    {
        string bad = _folder.File("bad.yaml");
        File.WriteAllText(bad, File.ReadAllText(Path.Combine(TestPaths.Root, "scenarios", "parcel", "model.yaml")).Replace("below: 520", "below: 900", StringComparison.Ordinal));
        var result = Hil.Run(
            "reproduce", "scenarios/parcel/recordings/belt.csv", "--rate", "100 Hz", "--rig", "rigs/virtual.yaml", "--link", $"builtin:lines?model={bad}&credit_window=256", "--at", "13 s", "--expected", "conveyed",
            "--host-program", $"{_program} {_folder.File("net.onnx")} {Options}", "--plays", "2", "--out", _folder.File("cases"), "--json");
        Assert.That(result.Output, Does.StartWith("{"), result.Errors);
        var json = JsonDocument.Parse(result.Output).RootElement;
        Assert.That((result.Code, json.GetProperty("culprit").GetString()), Is.EqualTo((1, "firmware fault")), result.Output);
        Assert.That(json.GetProperty("evidence")[1].GetString(), Does.Contain("says conveyed on the same samples"));
    }

    [TestCase("--classes a,b --rate 100 --window 64 --hop 25", "expected 192 values")]
    [TestCase("--classes a,b --rate 100 --hop 25", "--window is missing")]
    [TestCase("--classes a,b --rate 100 --window 128 --hop 25 --colour red", "unknown option --colour")]
    public void WhatDoesNotFitIsRefusedInWords(string options, string said)
    {
        var (code, text) = Try(_program, [_folder.File("net.onnx"), .. options.Split(' ')]);
        Assert.That((code, text.Split('\n')[0]), Is.EqualTo((64, text.Split('\n')[0])));
        Assert.That(text, Does.Contain(said));
    }

    private static string Python(params string[] arguments) => Tool("/usr/bin/python3", [Path.Combine("tests", "HilRunner.Cli.Tests", "onnx_net.py"), .. arguments]);

    private static string Tool(string program, params string[] arguments)
    {
        var (code, text) = Try(program, arguments);
        Assert.That(code, Is.Zero, $"{program} {string.Join(' ', arguments)}\n{text}");
        return text;
    }

    private static (int Code, string Text) Try(string program, string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo(program, arguments) { WorkingDirectory = TestPaths.Root, RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true })!;
        process.StandardInput.Close();
        var (output, errors) = (process.StandardOutput.ReadToEndAsync(), process.StandardError.ReadToEndAsync());
        process.WaitForExit();
        return (process.ExitCode, output.Result + errors.Result);
    }
}
