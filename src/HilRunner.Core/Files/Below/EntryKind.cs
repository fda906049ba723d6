namespace HilRunner.Core.Files.Below;

/// <summary>What stands under a name.</summary>
internal enum EntryKind { Absent, File, Folder, Link, Fifo, Socket, Device }

/// <summary>Its words.</summary>
internal static class EntryKindWords
{
    /// <summary>As errors say what was found.</summary>
    public static string Word(this EntryKind kind) => kind switch
    {
        EntryKind.Link => "a link",
        EntryKind.Fifo => "a FIFO",
        EntryKind.Socket => "a socket",
        EntryKind.Device => "a device",
        EntryKind.Folder => "a folder",
        _ => "a file",
    };
}
