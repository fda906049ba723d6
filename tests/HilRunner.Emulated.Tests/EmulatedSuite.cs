using HilRunner.Emulated.Tests.Bench;

namespace HilRunner.Emulated.Tests;

/// <summary>Before: is the emulator there. After: nothing of it may be left running.</summary>
[SetUpFixture]
public sealed class EmulatedSuite
{
    [OneTimeSetUp]
    public void Everything_is_installed()
    {
        string[] programs = ["qemu-system-arm", "arm-none-eabi-gcc", "arm-none-eabi-objcopy"];
        string[] folders = (Environment.GetEnvironmentVariable("PATH") ?? "").Split(':');
        string[] missing = [.. programs.Where(p => !folders.Any(f => File.Exists(Path.Combine(f, p))))];
        Assert.That(missing, Is.Empty,
            "get them by: apt-get install --no-install-recommends qemu-system-arm gcc-arm-none-eabi libnewlib-arm-none-eabi binutils-arm-none-eabi");
    }

    [OneTimeTearDown]
    public void Nothing_is_left()
    {
        var left = Emulator.ProcessIds(Images.Folder);
        foreach (int id in left)
        {
            using var process = System.Diagnostics.Process.GetProcessById(id);
            process.Kill();
        }
        Images.Remove();
        Assert.That(left, Is.Empty, "emulators were left running");
    }
}
