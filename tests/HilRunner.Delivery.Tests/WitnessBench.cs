using System.Diagnostics;
using System.Text.Json.Nodes;
using HilRunner.Testing;

namespace HilRunner.Delivery.Tests;

/// <summary>Link and device of witness/ as two processes, with the logs that they write. Disposing ends both.</summary>
internal sealed class WitnessBench : IDisposable
{
    private static readonly TimeSpan s_limit = TimeSpan.FromSeconds(30);
    private readonly Process _link;
    private readonly Process _device;

    /// <param name="folder">Where the ports (host, device), the plan and the logs stand.</param>
    /// <param name="bootMs">How long the device boots when the host opens its port; null: it does not.</param>
    public WitnessBench(string folder, Dialect dialect, IEnumerable<FaultCase> cases, int? bootMs = null)
    {
        Folder = folder;
        var faults = new JsonObject();
        foreach (var one in cases)
        {
            if (one.Plan() is { } plan) { faults.Add($"{one.Samples}", plan); }
        }
        File.WriteAllText(At("plan.json"),
            new JsonObject { ["dialect"] = dialect.Json, ["boot_ms"] = bootMs, ["runs"] = faults }.ToJsonString());
        _link = Start("link.py", folder, At("plan.json"));
        Await(_link, "ready");
        _device = Start("device.py", At("device"), At("control"), At("device.jsonl"), dialect.Device);
        Await(_device, "listening");
    }

    public string Folder { get; }

    public string Port => At("host");

    public string At(string name) => Path.Combine(Folder, name);

    /// <summary>Ends both, so that their logs are whole.</summary>
    public void Dispose()
    {
        _link.StandardInput.Close();
        foreach (var process in new[] { _link, _device })
        {
            if (!process.WaitForExit(s_limit)) { process.Kill(); }
            process.Dispose();
        }
    }

    private static Process Start(string program, params string[] arguments) =>
        Process.Start(
            new ProcessStartInfo("/usr/bin/python3",
                [Path.Combine(TestPaths.Root, "tests", "HilRunner.Delivery.Tests", "witness", program), .. arguments])
        {
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
        })!;

    private static void Await(Process process, string word) =>
        Assert.That(
            process.StandardOutput.ReadLineAsync().WaitAsync(s_limit).GetAwaiter().GetResult(),
            Is.EqualTo(word), "it did not start");
}
