using System.Diagnostics;
using HilRunner.Testing;

namespace HilRunner.Delivery.Tests;

/// <summary>Device and link of witness/ without the product: their logs say what was done, and only that.</summary>
[TestFixture]
internal sealed class WitnessTests
{
    [Test]
    public void Device_and_link_keep_true_logs()
    {
        using var folder = TestPaths.NewFolder();
        string script = Path.Combine(TestPaths.Root, "tests", "HilRunner.Delivery.Tests", "witness", "selftest.py");
        using var process = Process.Start(
            new ProcessStartInfo(
                "/usr/bin/python3", [script, folder.Path]) { RedirectStandardOutput = true, RedirectStandardError = true })!;
        var errors = process.StandardError.ReadToEndAsync();
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.That(output, Does.EndWith("cases held\n"), errors.Result);
    }
}
